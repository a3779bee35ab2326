//go:build unix

package archive_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// wantAll asks the server itself for the number and the sum of the counts of a
// cell, and wants those of the store: nothing lost, nothing twice.
func (l *laptop) wantAll(t *testing.T, server *archivetest.Server, bucket string) {
	t.Helper()
	n, sum := 0, int64(0)
	for run, err := range l.store.Runs(t.Context(), l.cell.ID, math.MinInt64, math.MaxInt64) {
		require.NoError(t, err)
		n += len(run.Raw)
		for _, raw := range run.Raw {
			sum += raw
		}
	}
	got := server.Query(t, bucket, `SELECT count(raw), sum(raw), count(newtons) FROM line_force WHERE cell = 'River-1'`)
	require.Len(t, got, 1)
	v := got[0].Values[0]
	assert.Equal(t, []int64{int64(n), sum, int64(n)}, []int64{integer(t, v[1]), integer(t, v[2]), integer(t, v[3])})
	assert.Zero(t, l.state(t).Readings)
}

func wantFault(t *testing.T, err error, kind archive.Kind, says string) {
	t.Helper()
	var fault *archive.Fault
	require.ErrorAs(t, err, &fault)
	assert.Equal(t, kind, fault.Kind, fault.Says)
	assert.Contains(t, fault.Says, says)
	assert.NotContains(t, fault.Says, archivetest.Password)
}

// TestServerAwayForTenMinutes kills the server, records what comes in ten
// minutes at a thousand readings a second, and starts it again.
func TestServerAwayForTenMinutes(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 5000))
	pusher := l.pusher(t)
	push(t, t.Context(), pusher)

	server.Kill()
	const away = 600_000
	for i := range int64(60) {
		l.record(t, noise(l.cell, start+5e9+i*10e9, 1e6, away/60))
	}
	_, err := pusher.Push(t.Context(), true)
	wantFault(t, err, archive.Away, "cannot be reached")
	state := l.state(t)
	assert.Equal(t, away, state.Readings)
	assert.Equal(t, start+5e9, state.Behind.UnixNano())
	assert.True(t, state.Failing())
	assert.Contains(t, state.Failure, "Look whether the server runs")

	server.Run(t)
	assert.Equal(t, away, push(t, t.Context(), pusher).Readings)
	l.wantAll(t, server, bucket)
	assert.False(t, l.state(t).Failing())
}

// TestServerKilledInTheMiddle kills the server again and again while readings
// are pushed to it.
func TestServerKilledInTheMiddle(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e9/997.3, 150_000))
	pusher := l.pusher(t)
	for before := l.state(t).Readings; ; {
		done := make(chan error, 1)
		go func() {
			_, err := pusher.Push(context.WithoutCancel(t.Context()), true)
			done <- err
		}()
		require.Eventually(t, func() bool { return l.state(t).Readings < before }, needs.Patience, time.Millisecond)
		server.Kill()
		err := <-done
		server.Run(t)
		if before = l.state(t).Readings; before == 0 {
			break
		}
		wantFault(t, err, archive.Away, "cannot be reached")
	}
	l.wantAll(t, server, bucket)
}

// TestPusherKilledInTheMiddle kills the program that pushes (SIGKILL) again and
// again: this test starts itself as that program.
func TestPusherKilledInTheMiddle(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "heron")
	l.record(t, noise(l.cell, start, 1e6, 120_000))
	kills := 0
	for before := l.state(t).Readings; before > 0; before = l.state(t).Readings {
		child := exec.Command(os.Args[0], "-test.run=^TestPushAndEnd$")
		child.Env = append(os.Environ(), "ARCHIVE_TEST_STORE="+l.dir, "ARCHIVE_TEST_URL="+server.URL, "ARCHIVE_TEST_BUCKET="+bucket)
		require.NoError(t, child.Start())
		require.Eventually(t, func() bool { return l.state(t).Readings < before }, needs.Patience, time.Millisecond)
		require.NoError(t, child.Process.Kill())
		_ = child.Wait()
		kills++
	}
	assert.Greater(t, kills, 1, "the push was over before it could be killed")
	l.wantAll(t, server, bucket)
}

// TestPushAndEnd is the program that TestPusherKilledInTheMiddle kills.
func TestPushAndEnd(t *testing.T) {
	dir := os.Getenv("ARCHIVE_TEST_STORE")
	if dir == "" {
		t.Skip("it is run by TestPusherKilledInTheMiddle")
	}
	db, err := store.OpenEditor(dir, store.Options{})
	require.NoError(t, err)
	defer db.Close()
	server, err := archive.Connect(archive.Settings{URL: os.Getenv("ARCHIVE_TEST_URL"), Bucket: os.Getenv("ARCHIVE_TEST_BUCKET"), Token: archivetest.Token})
	require.NoError(t, err)
	defer server.Close()
	_, err = archive.NewPusher(archive.Config{Store: db, Server: server}).Push(t.Context(), true)
	require.NoError(t, err)
}

// TestTwoAtOnce pushes one store from two programs at the same time.
func TestTwoAtOnce(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	l.record(t, noise(l.cell, start, 1e6, 60_000))
	beside, err := store.OpenEditor(l.dir, store.Options{})
	require.NoError(t, err)
	defer beside.Close()
	sums := make(chan archive.Sum, 2)
	for _, db := range []*store.Store{l.store, beside} {
		pusher := archive.NewPusher(archive.Config{Store: db, Server: l.connect(t)})
		go func() {
			sum, err := pusher.Push(t.Context(), true)
			assert.NoError(t, err)
			sums <- sum
		}()
	}
	assert.Equal(t, 60_000, (<-sums).Readings+(<-sums).Readings, "each reading went over the network once")
	l.wantAll(t, server, bucket)
}

// TestFrozenServer goes on recording while a push waits for a server that has
// stopped without a word.
func TestFrozenServer(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 100))
	server.Freeze()
	done := make(chan error, 1)
	pusher := l.pusher(t)
	go func() {
		_, err := pusher.Push(t.Context(), true)
		done <- err
	}()
	for i := range int64(50) {
		l.record(t, noise(l.cell, start+1e9+i*1e9, 1e6, 250))
	}
	select {
	case err := <-done:
		t.Errorf("the push was to wait: %v", err)
	default:
	}
	server.Thaw()
	require.NoError(t, <-done)
	push(t, t.Context(), pusher)
	l.wantAll(t, server, bucket)
}

// TestWrongToken wants to be told what to do, without the token, and goes on
// with the right one.
func TestWrongToken(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	l.record(t, noise(l.cell, start, 1e6, 100))
	right := l.settings.Token
	l.settings.Token = archive.Secret(archivetest.User + ":moss")
	_, err := l.pusher(t).Push(t.Context(), true)
	wantFault(t, err, archive.Denied, "does not accept the token. Give a valid one")
	assert.NotContains(t, fmt.Sprintf("%v %+v %#v", l.settings, l.settings, l.settings), "moss")
	assert.Equal(t, 100, l.state(t).Readings)
	_, err = l.connect(t).Cells(t.Context())
	wantFault(t, err, archive.Denied, "does not accept the token")

	l.settings.Token = right
	wrong := l.settings
	wrong.Bucket = "nowhere/autogen"
	elsewhere, err := archive.Connect(wrong)
	require.NoError(t, err)
	defer elsewhere.Close()
	_, err = archive.NewPusher(archive.Config{Store: l.store, Server: elsewhere}).Push(t.Context(), true)
	wantFault(t, err, archive.Denied, "does not know the bucket nowhere/autogen")
	server.Do(t, "", "CREATE USER reader_"+strings.TrimSuffix(bucket, "/autogen")+" WITH PASSWORD 'moss'")
	server.Do(t, "", "GRANT READ ON "+strings.TrimSuffix(bucket, "/autogen")+" TO reader_"+strings.TrimSuffix(bucket, "/autogen"))
	l.settings.Token = archive.Secret("reader_" + strings.TrimSuffix(bucket, "/autogen") + ":moss")
	_, err = l.pusher(t).Push(t.Context(), true)
	wantFault(t, err, archive.Denied, "it may not do this")

	l.settings.Token = right
	push(t, t.Context(), l.pusher(t))
	l.wantAll(t, server, bucket)
}

// TestTypeConflict pushes where something else has written raw as a float: in
// that week of the server nothing can be taken. The next week goes on, and what
// was refused is taken when that is removed.
func TestTypeConflict(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	server.Point(t, bucket, fmt.Sprintf("line_force,cell=other raw=1.5 %d", start))
	l.record(t, noise(l.cell, start, 1e6, 12_000), noise(l.cell, start+14*86_400e9, 1e6, 500))
	pusher := l.pusher(t)
	sum := push(t, t.Context(), pusher)
	assert.Equal(t, []int{500, 12_000}, []int{sum.Readings, sum.Refused})
	state := l.state(t)
	assert.Equal(t, []int{12_000, 12_000}, []int{state.Readings, state.Refused})
	assert.Contains(t, state.Failure, "something else has written the same field with another type")

	l.record(t, noise(l.cell, start+15*86_400e9, 1e6, 70))
	sum = push(t, t.Context(), pusher)
	assert.Equal(t, 70, sum.Readings, "what is refused is tried, and holds nothing up")
	assert.Equal(t, 12_000, l.state(t).Refused)
	server.Do(t, bucket, fmt.Sprintf("DROP SHARD %d", firstShard(t, server, bucket)))
	assert.Equal(t, 12_000, push(t, t.Context(), pusher).Readings)
	l.wantAll(t, server, bucket)
}

// firstShard is the part of the server's files that holds the first week.
func firstShard(t *testing.T, server *archivetest.Server, bucket string) int64 {
	t.Helper()
	database, _, _ := strings.Cut(bucket, "/")
	for _, s := range server.Query(t, bucket, "SHOW SHARDS") {
		if s.Name == database {
			return integer(t, s.Values[0][slices.Index(s.Columns, "id")])
		}
	}
	t.Fatal("the server has no shard")
	return 0
}

// TestFullArchive pushes to a server that takes one value of a tag only, so
// that it refuses the second day; and on when it takes more.
func TestFullArchive(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{TagValues: 1})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 2000), noise(l.cell, start+86_400e9, 1e6, 300))
	_, err := l.store.SavePull(t.Context(), store.Pull{Cell: l.cell.ID, Found: found(start), Settled: true})
	require.NoError(t, err)
	assert.Equal(t, archive.Sum{Readings: 2000, Refused: 300, Pulls: 1}, push(t, t.Context(), l.pusher(t)))
	_, err = l.store.SavePull(t.Context(), store.Pull{Cell: l.cell.ID, Found: found(start + 86_400e9), Settled: true})
	require.NoError(t, err)
	assert.Equal(t, archive.Sum{Refused: 300}, push(t, t.Context(), l.pusher(t)))
	state := l.state(t)
	assert.Equal(t, []int{300, 300, 1}, []int{state.Readings, state.Refused, state.Pulls})
	assert.Contains(t, state.Failure, "is full: it refuses points because of a limit of its own")
	server.Limit(t, 100)
	assert.Equal(t, archive.Sum{Readings: 300, Pulls: 1}, push(t, t.Context(), l.pusher(t)))
	l.wantAll(t, server, bucket)
	assert.Equal(t, 2, server.Count(t, bucket, "pull", "pull_id"))
}
