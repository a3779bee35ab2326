package watch

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// sender is an instrument in another process, at the far end of a
// pseudo-terminal.
type sender struct {
	t      *testing.T
	link   string
	truth  string
	cmd    *exec.Cmd
	marker chan string
}

// startSender has the forces, in newtons, sent at 1 kHz, one reading each.
func startSender(t *testing.T, forces []int, args ...string) *sender {
	t.Helper()
	dir := t.TempDir()
	s := &sender{t: t, link: filepath.Join(dir, "cell"), truth: filepath.Join(dir, "truth.csv"), marker: make(chan string, 8)}
	input := filepath.Join(dir, "input")
	require.LessOrEqual(t, len(forces), 1<<indexBits)
	var text []byte
	for i, f := range forces {
		text = append(strconv.AppendInt(text, int64(f)<<indexBits|int64(i), 10), '\n')
	}
	require.NoError(t, os.WriteFile(input, text, 0o600))
	args = append([]string{"../../testdata/sender/send_frames.py", "--link", s.link, "--truth", s.truth, "--input", input, "--rate", "1000", "--wait", "30"}, args...)
	s.cmd = exec.Command(needs.Python(t, "python3"), args...)
	s.cmd.Stderr = os.Stderr
	out, err := s.cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, s.cmd.Start())
	drained := make(chan struct{})
	go func() {
		defer close(drained)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			s.marker <- lines.Text()
		}
	}()
	t.Cleanup(func() {
		_ = s.cmd.Process.Kill()
		<-drained
		_ = s.cmd.Wait()
	})
	return s
}

// await waits for the instrument to print a word and a time.
func (s *sender) await(word string, patience time.Duration) time.Time {
	s.t.Helper()
	select {
	case line := <-s.marker:
		var ns int64
		_, err := fmt.Sscanf(line, word+" %d", &ns)
		require.NoError(s.t, err, line)
		return time.Unix(0, ns)
	case <-time.After(patience):
		require.Fail(s.t, "the instrument did not say "+word)
		panic("not reached")
	}
}

// sent is what the instrument says of one reading.
type sent struct {
	raw         int64
	sent, clean bool
	at          int64 // when its frame was written, ns UTC
}

// readTruth reads what was sent, by index. It is complete when the instrument
// has said "end".
func (s *sender) readTruth() []sent {
	s.t.Helper()
	f, err := os.Open(s.truth)
	require.NoError(s.t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(s.t, err)
	require.Equal(s.t, []string{"index", "seq", "tick_us", "raw", "sent", "clean", "unix_ns"}, rows[0])
	all := make([]sent, 0, len(rows))
	for _, row := range rows[1:] {
		raw, err := strconv.ParseInt(row[3], 10, 64)
		require.NoError(s.t, err)
		at, err := strconv.ParseInt(row[6], 10, 64)
		require.NoError(s.t, err)
		all = append(all, sent{raw: raw, sent: row[4] == "1", clean: row[5] == "1", at: at})
	}
	return all
}

// quiet is a slack line with 20 N of noise.
func quiet(n int, seed uint64) []int {
	rng := rand.New(rand.NewPCG(seed, 1))
	forces := make([]int, n)
	for i := range forces {
		forces[i] = int(math.Round(20 * rng.NormFloat64()))
	}
	return forces
}

// addPulse adds a half sine of length readings to forces.
func addPulse(forces []int, at, length int, peak float64) {
	for i := range length {
		forces[at+i] += int(peak * math.Sin(math.Pi*float64(i)/float64(length)))
	}
}

// addSteady adds a load that rises in a second, stays, and falls in a half.
func addSteady(forces []int, at, length int, load float64) {
	for i := range length {
		share := min(1, float64(i)/1000, float64(length-i)/500)
		forces[at+i] += int(load * share)
	}
}

// kept is a stored reading.
type kept struct{ raw, t int64 }

func readStored(t *testing.T, s *store.Store, cell int64) (all []kept) {
	t.Helper()
	for run, err := range s.Runs(t.Context(), cell, 0, 1<<62) {
		require.NoError(t, err)
		for i, raw := range run.Raw {
			all = append(all, kept{raw, run.At(i)})
		}
	}
	return all
}

// requireOnlySent checks that stored readings are readings that were sent
// undamaged, each once, in their order and in the order of time.
func requireOnlySent(t *testing.T, truth []sent, stored []kept) {
	t.Helper()
	lastIndex, lastTime := int64(-1), int64(0)
	for _, k := range stored {
		i := k.raw & indexMask
		require.Less(t, i, int64(len(truth)), "no such reading was sent")
		require.Equal(t, truth[i].raw, k.raw, "reading %d was changed on the way", i)
		require.True(t, truth[i].clean, "reading %d came in a damaged frame", i)
		require.Greater(t, i, lastIndex, "reading %d is in the wrong place", i)
		require.Greater(t, k.t, lastTime)
		lastIndex, lastTime = i, k.t
	}
}
