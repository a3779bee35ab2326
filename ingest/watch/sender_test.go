package watch

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// startSender has the forces, in newtons, sent at 1 kHz, one reading each, by
// an instrument in another process.
func startSender(t *testing.T, forces []int, args ...string) *needs.Amplifier {
	t.Helper()
	dir := t.TempDir()
	link, input := filepath.Join(dir, "cell"), filepath.Join(dir, "input")
	require.LessOrEqual(t, len(forces), 1<<indexBits)
	var text []byte
	for i, f := range forces {
		text = append(strconv.AppendInt(text, int64(f)<<indexBits|int64(i), 10), '\n')
	}
	require.NoError(t, os.WriteFile(input, text, 0o600))
	return needs.Sender(t, link, append([]string{"--input", input, "--count", "0", "--rate", "1000", "--wait", "120"}, args...)...)
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
func requireOnlySent(t *testing.T, truth []needs.Sent, stored []kept) {
	t.Helper()
	lastIndex, lastTime := int64(-1), int64(0)
	for _, k := range stored {
		i := k.raw & indexMask
		require.Less(t, i, int64(len(truth)), "no such reading was sent")
		require.Equal(t, truth[i].Raw, k.raw, "reading %d was changed on the way", i)
		require.True(t, truth[i].Clean, "reading %d came in a damaged frame", i)
		require.Greater(t, i, lastIndex, "reading %d is in the wrong place", i)
		require.Greater(t, k.t, lastTime)
		lastIndex, lastTime = i, k.t
	}
}
