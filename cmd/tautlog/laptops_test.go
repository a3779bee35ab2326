//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/needs"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// laptop is a computer with a store, a cell that is pulled at, and an archive
// that it was told of.
type laptop struct {
	data  string
	sent  *rehearse.Session
	ready atomic.Bool // it has a quiet line: the cell may be pulled at
	log   talk
}

// newLaptop plugs a simulated cell into a new store, with what archive.json is
// to say. All of them call their cell River-1.
func newLaptop(t *testing.T, settings string, speed float64) *laptop {
	t.Helper()
	l := &laptop{data: t.TempDir()}
	require.NoError(t, os.WriteFile(filepath.Join(l.data, archive.SettingsName), []byte(settings), 0o600))
	c := rehearse.Cell{Name: "River-1", Capacity: 100e3, Rate: 1000, Noise: 20, Wire: wire.Config{Format: wire.Packed}, Curve: calibrate.Curve{Coefficients: []float64{0, 4}}}
	pulled := rehearse.Pull{Shape: rehearse.Kinetic{Seconds: 2, Pull: kinetic.Pull{
		Puller: 2500, Speed: unit.Speed(speed), Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(40e3), Loss: 0.2},
	}}}
	var err error
	l.sent, err = rehearse.Start(context.WithoutCancel(t.Context()), rehearse.Options{Cell: c, Script: rehearse.After(l.ready.Load, rehearse.Pulls(pulled)), Seed: uint64(speed)})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, l.sent.Close()) })
	db, err := store.Open(l.data, store.Options{})
	require.NoError(t, err)
	_, err = db.SaveCell(t.Context(), store.Cell{Name: c.Name, Line: l.sent.Line(), Wire: c.Wire, Curve: c.Curve, Capacity: c.Capacity, Rate: c.Rate})
	require.NoError(t, err)
	require.NoError(t, db.Close())
	return l
}

// records runs a daemon on the laptop until stop, as Ctrl-C does, and has the
// cell pulled at once a quiet line is recorded.
func (l *laptop) records(t *testing.T, command ...string) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
	out, said := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, append(command, "--data", l.data), nil, said, &l.log)
		_ = said.Close()
	}()
	stop = sync.OnceFunc(func() {
		cancel()
		assert.Zero(t, <-ended, l.log.all())
	})
	t.Cleanup(stop)
	require.True(t, bufio.NewScanner(out).Scan(), "it says that it has begun")
	go func() { _, _ = io.Copy(io.Discard, out) }()
	require.Eventually(t, func() bool { return l.kept(t) > 1000 }, needs.Patience, 20*time.Millisecond, "a quiet line is recorded")
	l.ready.Store(true)
	return stop
}

// kept is how many readings are in the laptop's store.
func (l *laptop) kept(t *testing.T) int {
	t.Helper()
	db, err := store.OpenReader(l.data)
	require.NoError(t, err)
	defer db.Close()
	c, err := db.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	_, _, n, err := db.Span(t.Context(), c.ID)
	require.NoError(t, err)
	return int(n)
}

// pulls is how many pulls are in the laptop's store and over.
func (l *laptop) pulls(t *testing.T) (n int) {
	t.Helper()
	db, err := store.OpenReader(l.data)
	require.NoError(t, err)
	defer db.Close()
	all, err := db.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	for _, p := range all {
		if p.Settled {
			n++
		}
	}
	return n
}

// archived is how many readings of a station an archive has.
func archived(t *testing.T, server *archivetest.Server, bucket, station string) (n int) {
	t.Helper()
	for _, s := range server.Query(t, bucket, fmt.Sprintf(`SELECT count("raw") FROM "line_force" WHERE "station" = '%s'`, station)) {
		count, err := s.Values[0][1].(json.Number).Int64()
		require.NoError(t, err)
		n += int(count)
	}
	return n
}

func archiveSettings(server *archivetest.Server, bucket, token, station string) string {
	return fmt.Sprintf(`{"url": %q, "bucket": %q, "token_file": %q, "station": %q}`, server.URL, bucket, token, station)
}

// tokenFile keeps a token as people are told to.
func tokenFile(t *testing.T, token string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "archive.token")
	require.NoError(t, os.WriteFile(path, []byte(token), 0o600))
	return path
}

// TestRecordTakesOtherSettings has a laptop record without an archive. One is
// told to it while it records, with a token that is refused and then the right
// one, and gets everything; then none is told any more.
func TestRecordTakesOtherSettings(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket, token := server.Database(t), tokenFile(t, "wrong:"+archivetest.Token)
	l := newLaptop(t, "", 2)
	settings := filepath.Join(l.data, archive.SettingsName)
	require.NoError(t, os.Remove(settings))
	stop := l.records(t, "record")
	says := func(what string) {
		t.Helper()
		require.Eventually(t, func() bool { return strings.Contains(l.log.all(), what) }, needs.Patience, 20*time.Millisecond, what)
	}
	require.NoError(t, os.WriteFile(settings, []byte(`{"url": 1}`), 0o600))
	says("nothing can be archived")
	require.NoError(t, os.WriteFile(settings, []byte(archiveSettings(server, bucket, token, "heron")), 0o600))
	says("given=true")
	says("level=WARN")
	require.NoError(t, os.WriteFile(token, []byte(archivetest.Token), 0o600))
	require.Eventually(t, func() bool { return archived(t, server, bucket, "heron") > 2000 }, needs.Patience, 50*time.Millisecond, "pushed with the settings that came later")
	require.NoError(t, os.Remove(settings))
	says("given=false")
	stop()
}

// TestLaptopsShareAnArchive has two laptops record cells of the same name while
// their archive is away, one by record and one by serve. When it is back they
// push by themselves; a third machine, without a store, then reads from the
// archive what each of them has in its own store, and takes it in.
func TestLaptopsShareAnArchive(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	bucket, token := server.Database(t), tokenFile(t, archivetest.Token)
	server.Kill()
	laptops := map[string]*laptop{}
	var stops []func()
	for i, station := range []string{"heron", "otter"} {
		l := newLaptop(t, archiveSettings(server, bucket, token, station), 2+float64(i))
		laptops[station] = l
		stops = append(stops, l.records(t, [][]string{{"record"}, {"serve", "--listen", "127.0.0.1:0"}}[i]...))
	}
	for _, l := range laptops {
		require.Eventually(t, func() bool { return l.kept(t) > 5000 && l.pulls(t) > 0 && strings.Contains(l.log.all(), "level=WARN") }, needs.Patience, 50*time.Millisecond, "recorded while the archive is away")
	}
	server.Run(t)
	for station := range laptops {
		require.Eventually(t, func() bool { return archived(t, server, bucket, station) > 5000 }, needs.Patience, 200*time.Millisecond, "pushed by itself")
	}
	for _, stop := range stops {
		stop()
	}
	all := 0
	for station, l := range laptops {
		printed(t, "archive", "push", "--data", l.data) // the latest seconds
		assert.Equal(t, l.kept(t), archived(t, server, bucket, station), "each reading once")
		all += l.kept(t)
		assert.Contains(t, printed(t, "archive", "status", "--data", l.data), "It has everything.")
	}

	club := filepath.Join(t.TempDir(), "club.json")
	require.NoError(t, os.WriteFile(club, []byte(archiveSettings(server, bucket, token, "")), 0o600))
	code, out, remarks := tautlog(t, "pulls", "--archive", club, "--cell", "River-1")
	assert.Equal(t, 2, code)
	assert.Empty(t, out)
	assert.Contains(t, remarks, "River-1 of station heron, River-1 of station otter")
	code, _, remarks = tautlog(t, "pulls", "--archive", club, "--station", "mole")
	assert.Equal(t, 1, code)
	assert.Contains(t, remarks, "has no such cell")
	elsewhere := t.TempDir()
	for station, l := range laptops {
		own := printed(t, "pulls", "--json", "--data", l.data)
		require.Contains(t, own, `"kind": "kinetic"`)
		chosen := []string{"--archive", club, "--cell", "River-1", "--station", station}
		assert.Equal(t, own, printed(t, append([]string{"pulls", "--json"}, chosen...)...), "read from the archive")

		pull := append([]string{"archive", "pull", "--data", elsewhere, "--as", station}, chosen...)
		assert.Contains(t, printed(t, pull...), fmt.Sprintf("%d readings", l.kept(t)))
		assert.Contains(t, printed(t, pull...), fmt.Sprintf("no readings and no pulls of cell River-1 of station %s taken in as cell %s; %d readings were there already", station, station, l.kept(t)))
		assert.Equal(t, bare(t, own), bare(t, printed(t, "pulls", "--json", "--data", elsewhere, "--cell", station)), "taken into another store")
		csv := filepath.Join(t.TempDir(), "trace.csv")
		printed(t, append([]string{"archive", "pull", "-o", csv}, chosen...)...)
		assert.Equal(t, bare(t, own)["pulls"], bare(t, printed(t, "pulls", "--json", "--capacity", "100kN", csv))["pulls"], "as a file")
	}
	printed(t, "archive", "push", "--data", elsewhere, "--archive", club)
	assert.Equal(t, all, server.Count(t, bucket, "line_force", "raw"), "what was taken in is not there twice")

	server.Kill()
	code, out, remarks = tautlog(t, "pulls", "--json", "--archive", club, "--station", "heron")
	assert.Equal(t, 1, code)
	assert.Empty(t, out)
	assert.Contains(t, remarks, server.URL)
	assert.NotContains(t, remarks, archivetest.Password)
}

// TestRecordingWithoutItsArchive: a wrong token, or settings that make no sense,
// are told and keep nothing from being recorded; corrected, everything goes.
func TestRecordingWithoutItsArchive(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	bucket, right, wrong := server.Database(t), tokenFile(t, archivetest.Token), tokenFile(t, archivetest.User+":moss-under-8-stones")
	for station, c := range map[string]struct{ settings, says string }{
		"heron": {archiveSettings(server, bucket, wrong, "heron"), "does not accept the token"},
		"otter": {`{"url": "` + server.URL + `", "buckets": "x"}`, "Nothing is archived until that is corrected"},
	} {
		t.Run(c.says, func(t *testing.T) {
			l := newLaptop(t, c.settings, 2)
			stop := l.records(t, "record")
			require.Eventually(t, func() bool { return l.kept(t) > 1000 && strings.Contains(l.log.all(), c.says) }, needs.Patience, 50*time.Millisecond, "%s", l.log.all())
			stop()
			assert.NotContains(t, l.log.all(), "moss-under")
			for _, ask := range [][]string{{"archive", "push", "--data", l.data}, {"pulls", "--json", "--archive", filepath.Join(l.data, archive.SettingsName)}} {
				code, out, remarks := tautlog(t, ask...)
				assert.Equal(t, 1, code, ask)
				assert.NotContains(t, out+remarks, "moss-under")
			}
			require.NoError(t, os.WriteFile(filepath.Join(l.data, archive.SettingsName), []byte(archiveSettings(server, bucket, right, station)), 0o600))
			printed(t, "archive", "push", "--data", l.data)
			assert.Equal(t, l.kept(t), archived(t, server, bucket, station))
		})
	}
}
