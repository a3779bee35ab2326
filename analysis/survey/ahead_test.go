package survey

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
)

// Reading ahead changes nothing: the same samples in the same order, although
// the reader takes up its memory again, the reader's fault handed on, and after
// a fault of who works on them no more of them.
func TestReadAhead(t *testing.T) {
	t.Parallel()
	broken := errors.New("broken")
	numbers := func(n int, end error) func(func(Fill) error) error {
		return func(yield func(Fill) error) error {
			b := trace.Batch{T: make([]int64, 2), F: make([]float64, 2)}
			for i := range n {
				b.T[0], b.T[1], b.F[0], b.F[1] = int64(2*i), int64(2*i+1), float64(i), -float64(i)
				if b.Marks = nil; i%3 == 0 {
					b.Marks = []trace.Mark{trace.Lost, 0}
				}
				if err := yield(Copied(b)); err != nil {
					return err
				}
			}
			return end
		}
	}
	seen := 0
	err := Ahead(numbers(1000, broken))(func(b trace.Batch) error {
		require.Equal(t, []int64{int64(2 * seen), int64(2*seen + 1)}, b.T)
		require.Equal(t, []float64{float64(seen), -float64(seen)}, b.F)
		require.Equal(t, seen%3 == 0, b.Marks != nil)
		seen++
		return nil
	})
	assert.ErrorIs(t, err, broken)
	assert.Equal(t, 1000, seen)
	seen = 0
	err = Ahead(numbers(1_000_000, nil))(func(trace.Batch) error {
		if seen++; seen == 10 {
			return broken
		}
		return nil
	})
	assert.ErrorIs(t, err, broken)
	assert.Equal(t, 10, seen)
}
