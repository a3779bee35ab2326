package pull_test

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// TestOpenRecord analyses a real record of line tension; its source, and the
// values computed from it with numpy, stand in testdata/tether-tension-50hz.md.
func TestOpenRecord(t *testing.T) {
	t.Parallel()
	b := readRecord(t, "testdata/tether-tension-50hz.csv")
	found := find(pull.Config{FullScale: unit.Force(largest(b))}, b, 7)
	for _, p := range found {
		t.Logf("%s %.2f-%.2f peak %.2f..%.2f steady %v flags %v impulse %.1f", p.Kind, float64(p.Start)/1e9, float64(p.End)/1e9, p.PeakLow, p.PeakHigh, p.Steady, p.Flags, p.Impulse)
	}
	require.Len(t, found, 1)
	p := found[0]
	assert.Equal(t, pull.Steady, p.Kind)
	assert.InDelta(t, 2336.8545, float64(p.Peak), 1e-3, "the data have four decimals")
	assert.Equal(t, int64(6.48e9), p.PeakAt)
	assert.Equal(t, int64(0), p.Start)
	assert.InDelta(t, 26.8, float64(p.End)/1e9, 0.4)
	assert.Contains(t, p.Flags, pull.FlagUnderWay)
	assert.NotContains(t, p.Flags, pull.FlagNotEnded)
	assert.InDelta(t, 41204.66, trapezoid(b, 26.38), 0.01, "by numpy: the record is the one described")
	assert.InDelta(t, trapezoid(b, float64(p.End)/1e9), p.Impulse, 0.01)
	require.NotNil(t, p.Steady)
	assert.InDelta(t, 1651.05, float64(*p.Steady), 120, "mean from 3 s to 24 s by numpy; here the median")
}

func trapezoid(b trace.Batch, end float64) float64 {
	var sum float64
	for i := 1; i < b.Len() && float64(b.T[i])/1e9 <= end+1e-9; i++ {
		sum += float64(b.T[i]-b.T[i-1]) / 1e9 * (b.F[i] + b.F[i-1]) / 2
	}
	return sum
}

func readRecord(t *testing.T, name string) trace.Batch {
	t.Helper()
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	var b trace.Batch
	for s := bufio.NewScanner(file); s.Scan(); {
		fields := strings.Split(s.Text(), ",")
		at, err := strconv.ParseFloat(fields[0], 64)
		if err != nil {
			continue // the header
		}
		f, err := strconv.ParseFloat(fields[1], 64)
		require.NoError(t, err)
		b.T = append(b.T, int64(math.Round(at*1e9)))
		b.F = append(b.F, f)
	}
	require.NotEmpty(t, b.T)
	return b
}
