//go:build unix

package watch

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// process is a daemon of its own: this test binary, run again.
type process struct {
	t      *testing.T
	cmd    *exec.Cmd
	stdin  io.Closer
	ups    chan time.Time
	exited chan struct{}
}

// startDaemon starts one.
func startDaemon(t *testing.T, dir, link string) *process {
	t.Helper()
	p := &process{t: t, ups: make(chan time.Time, 64), exited: make(chan struct{})}
	var out io.Reader
	p.cmd, p.stdin, out = startFirst(t, daemonStore+"="+dir, daemonLine+"="+link)
	go func() {
		defer close(p.exited)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			var ns int64
			if _, err := fmt.Sscanf(lines.Text(), "up %d", &ns); err == nil {
				p.ups <- time.Unix(0, ns)
			}
		}
	}()
	t.Cleanup(func() {
		_ = p.cmd.Process.Kill()
		<-p.exited
		_ = p.cmd.Wait()
	})
	return p
}

// up waits until the daemon has opened the line.
func (p *process) up() time.Time {
	p.t.Helper()
	select {
	case at := <-p.ups:
		return at
	case <-time.After(needs.Patience):
		require.Fail(p.t, "the daemon did not open the line")
		panic("not reached")
	}
}

// kill ends the daemon as kill -9 does, and tells the moment just before, and
// how long the daemon had been kept waiting until then.
func (p *process) kill() (at time.Time, waited time.Duration) {
	at = time.Now()
	waited = p.waited()
	require.NoError(p.t, p.cmd.Process.Kill())
	<-p.exited
	_ = p.cmd.Wait()
	return at, waited
}

// waited is how long the daemon's threads were ready to run and had no
// processor: the second number of schedstat (Documentation/scheduler/sched-stats
// of the kernel), in ns. Where the system does not tell, it is nothing.
func (p *process) waited() (d time.Duration) {
	tasks, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/schedstat", p.cmd.Process.Pid))
	require.NoError(p.t, err)
	for _, task := range tasks {
		var ran, delayed int64
		text, _ := os.ReadFile(task) // a thread may have ended meanwhile
		_, _ = fmt.Sscan(string(text), &ran, &delayed)
		d += time.Duration(delayed)
	}
	return d
}

// finish ends the daemon in good order.
func (p *process) finish() {
	p.t.Helper()
	require.NoError(p.t, p.stdin.Close())
	<-p.exited
	require.NoError(p.t, p.cmd.Wait())
}

// startFirst starts this test binary again, before all other work of the machine
// where the system allows that: what is promised is promised where the daemon can
// run. A session of its own is a group of its own for the scheduler (autogroup in
// sched(7)), and one thread at a time waits for the processor once.
func startFirst(t *testing.T, env ...string) (c *exec.Cmd, in io.WriteCloser, out io.Reader) {
	t.Helper()
	c = exec.Command("nice", "-n", "-19", os.Args[0])
	c.Env = append(append(os.Environ(), "GOMAXPROCS=1"), env...)
	c.Stderr = os.Stderr
	c.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err = c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	_ = os.WriteFile(fmt.Sprintf("/proc/%d/autogroup", c.Process.Pid), []byte("-19"), 0)
	return c, in, out
}

// witness is a process like the daemon that does next to nothing: see look. It
// notes when that took long: for as long the machine could keep no promise.
type witness struct {
	mu    sync.Mutex
	stood []stall
}

type stall struct{ from, to time.Time }

func startWitness(t *testing.T) *witness {
	t.Helper()
	w, told := &witness{}, make(chan struct{})
	c, in, out := startFirst(t, witnessFile+"="+filepath.Join(t.TempDir(), "witness"))
	go func() {
		defer close(told)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			var from, to int64
			if _, err := fmt.Sscanf(lines.Text(), "stood %d %d", &from, &to); err == nil {
				w.mu.Lock()
				w.stood = append(w.stood, stall{time.Unix(0, from), time.Unix(0, to)})
				w.mu.Unlock()
			}
		}
	}()
	t.Cleanup(func() {
		_ = in.Close()
		<-told
		assert.NoError(t, c.Wait())
	})
	return w
}

// before is how long the machine stood still in the second before at.
func (w *witness) before(at time.Time) (d time.Duration) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, s := range w.stood {
		if s.from.Before(at) && s.to.After(at.Add(-time.Second)) {
			d += s.to.Sub(s.from)
		}
	}
	return d
}

// life is one daemon from the opening of the line to the kill.
type life struct {
	up, killed time.Time
	waited     time.Duration  // for a processor, in the end
	stored     map[int64]bool // readings in the store right after
}

// promise is the age from which on a reading is on disk, on a machine that lets
// the daemon run. For how long it did not is looked at for twice as long: who was
// kept waiting just before reads late what is then promised.
const (
	promise = 250 * time.Millisecond
	watched = 2 * promise
)

// kills is how often the daemon is killed.
var kills = flag.Int("kills", 20, "how often TestKilledMidPull kills the daemon")

// The daemon is killed again and again at random moments of pulls, while an
// instrument in another process goes on sending. On a slow machine that takes
// more than one stretch of sending.
func TestKilledMidPull(t *testing.T) {
	t.Parallel()
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	var checked int
	for done := 0; done < *kills; {
		n, c := killed(t, rng, min(*kills-done, 20))
		done, checked = done+n, checked+c
	}
	t.Logf("%d readings were older than %v at a kill and all are stored", checked, promise)
	assert.Greater(t, checked, 100**kills)
}

const every, length = 700, 500 // ms from pull to pull, and of one

// killed kills the daemon up to most times in one stretch of sending. It
// tells how often, and how many readings had to be stored by then.
func killed(t *testing.T, rng *rand.Rand, most int) (kills, checked int) {
	t.Helper()
	forces := quiet(min(3000+1100*most, 1<<indexBits), 1)
	for at := 1000; at+every < len(forces); at += every {
		addPulse(forces, at, length, 25000)
	}
	in, dir, w := startSender(t, forces, "--per-frame", "5"), t.TempDir(), startWitness(t)
	stop := time.Duration(len(forces)-2000) * time.Millisecond

	var lives []life
	var start time.Time
	for len(lives) < most && (start.IsZero() || time.Since(start) < stop) {
		d := startDaemon(t, dir, in.Link)
		l := life{up: d.up()}
		if start.IsZero() {
			start = in.Started()
		}
		end := start.Add(midPull(time.Since(start), rng))
		time.Sleep(time.Until(end.Add(-watched)))
		before := d.waited()
		time.Sleep(time.Until(end))
		l.killed, l.waited = d.kill()
		l.waited -= before
		l.stored = openAfterKill(t, dir)
		lives = append(lives, l)
	}
	last := startDaemon(t, dir, in.Link)
	in.End()
	last.finish()

	truth := in.Truth()
	s, cell := reopen(t, dir)
	requireOnlySent(t, truth, readStored(t, s, cell))
	for k, l := range lives {
		late := w.before(l.killed) + l.waited
		t.Logf("kill %d: the disk had stood still for %v, and the daemon had waited for a processor for %v", k, late-l.waited, l.waited)
		checked += l.check(t, k, truth, promise+late)
	}
	return len(lives), checked
}

// midPull is a random moment of the first pull that begins half a second from now
// or later, so that something has to be on disk by then.
func midPull(now time.Duration, rng *rand.Rand) time.Duration {
	first, gap := time.Second, every*time.Millisecond
	n := max(0, (now+watched-first+gap-1)/gap)
	return first + n*gap + time.Duration(rng.Int64N(length*int64(time.Millisecond)))
}

// check checks that what was older than promised at the kill is stored, and
// tells how many readings that were.
func (l life) check(t *testing.T, kill int, truth []needs.Sent, promised time.Duration) (checked int) {
	t.Helper()
	for i, r := range truth {
		if r.At.Before(l.up) || !r.At.Before(l.killed.Add(-promised)) {
			continue
		}
		checked++
		assert.True(t, l.stored[r.Raw], "kill %d: reading %d was sent %v before and is not stored",
			kill, i, l.killed.Sub(r.At))
	}
	return checked
}

// openAfterKill opens the store as the next daemon does, checks it, and gives
// what is stored.
func openAfterKill(t *testing.T, dir string) map[int64]bool {
	t.Helper()
	s, cell := reopen(t, dir)
	require.NoError(t, s.Integrity(t.Context()))
	have := map[int64]bool{}
	for _, k := range readStored(t, s, cell) {
		have[k.raw] = true
	}
	require.NoError(t, s.Close())
	return have
}

func reopen(t *testing.T, dir string) (*store.Store, int64) {
	t.Helper()
	s, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	cell, err := s.CellByName(t.Context(), packedCell("").Name)
	require.NoError(t, err)
	return s, cell.ID
}

// A daemon is killed in the middle of a steady pull and started again: it is
// one pull, with a gap, and not two. The load stays on for as long as that takes.
func TestAPullInterruptedByAKillIsFoundWhole(t *testing.T) {
	t.Parallel()
	const at, held, length = 2000, 5000, 6000
	forces := quiet(14000, 1)
	addSteady(forces, at, length, 15000)
	in, dir := startSender(t, forces, "--hold-at", "5", "--lose-unheard"), t.TempDir()
	first := startDaemon(t, dir, in.Link)
	first.up()
	start := in.Started()
	killed := awaitStored(t, dir, start.Add((held+500)*time.Millisecond))
	first.kill()
	in.Unheard()
	second := startDaemon(t, dir, in.Link)
	second.up()
	awaitStored(t, dir, killed.Add(1500*time.Millisecond))
	in.GoOn()
	in.End()
	second.finish()

	s, cell := reopen(t, dir)
	times := map[int64]int64{} // of stored readings, by their index
	for _, k := range readStored(t, s, cell) {
		times[k.raw&indexMask] = k.t
	}
	pulls, err := s.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, pulls, 1)
	p := pulls[0]
	assert.InDelta(t, 0, float64(p.Found.Start-times[at])/1e9, 0.2)
	assert.InDelta(t, 0, float64(p.Found.End-times[at+length])/1e9, 0.2)
	assert.Contains(t, p.Found.Flags, pull.FlagGap)
	assert.Equal(t, pull.Steady, p.Kind)
	assert.True(t, p.Settled)
	assert.InEpsilon(t, 15000, float64(*p.Found.Steady), 0.01)
}

// awaitStored waits until the daemon has stored readings of that moment, and
// gives the moment of the latest.
func awaitStored(t *testing.T, dir string, moment time.Time) (latest time.Time) {
	t.Helper()
	s, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer s.Close()
	cell, err := s.CellByName(t.Context(), packedCell("").Name)
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		_, last, _, err := s.Span(t.Context(), cell.ID)
		latest = time.Unix(0, last)
		return assert.NoError(t, err) && !latest.Before(moment)
	}, needs.Patience, 20*time.Millisecond)
	return latest
}
