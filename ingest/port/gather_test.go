package port

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Bytes gather for a moment that is short for people, and never for so long
// that the system's buffer could run over; answers are read as they come.
func TestGather(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := Line{Baud: rapid.IntRange(300, 4_000_000).Draw(t, "baud")}
		n := rapid.IntRange(1, bufferSize).Draw(t, "bytes")
		since := time.Duration(rapid.Int64Range(1, 1e9).Draw(t, "since"))
		d := l.gather(n, since, false)
		assert.LessOrEqual(t, d, gatherMost)
		assert.LessOrEqual(t, d.Seconds()*float64(l.Baud)/10, float64(gatherBytes)+1)
		assert.LessOrEqual(t, d.Seconds()*float64(n)/since.Seconds(), float64(gatherBytes)/2+1, "faster than the rate that is set")
		assert.Zero(t, l.gather(n, since, true))
	})
	assert.GreaterOrEqual(t, Line{}.gather(20, time.Second, false), gatherLeast)
	lengths := map[time.Duration]bool{}
	for range 100 {
		lengths[Line{}.gather(20, time.Second, false)] = true
	}
	assert.Greater(t, len(lengths), 50, "in step with what comes at an even pace")
}
