package web

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// singleReadings are columns of one reading each, so many milliseconds apart.
func singleReadings(n int, every time.Duration) (cols []store.Column) {
	for i := range n {
		at := int64(i) * int64(every)
		cols = append(cols, store.Column{From: at, To: at, N: 1})
	}
	return cols
}

func TestACellThatSendsMoreSlowlyThanItWasSetUpForIsDrawnAsALine(t *testing.T) {
	cols := singleReadings(40, 12500*time.Microsecond)
	require.InDelta(t, 12.5, stepOf(cols, 260), 1e-9, "set up at 260 a second")
	require.InDelta(t, 12.5, stepOf(cols, 80), 1e-9)
	require.InDelta(t, 100, stepOf(cols, 10), 1e-9, "a faster one leaves no gap to see")

	gap := append(singleReadings(40, 12500*time.Microsecond), store.Column{From: 9e9, To: 9e9, N: 1})
	require.InDelta(t, 12.5, stepOf(gap, 260), 1e-9, "a gap is no step")
	require.InDelta(t, 12.5, stepOf([]store.Column{gap[39], gap[40]}, 80), 1e-9, "two readings do not tell")
}
