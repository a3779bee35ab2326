package plot_test

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
)

func course() plot.Course {
	e := func(at, kN float64) plot.Extent {
		return plot.Extent{At: at, Low: unit.Force(kN * 1000), High: unit.Force(kN*1000 + 300)}
	}
	return plot.Course{
		Title: "Pull 3", Caption: "What the cell read.", Unit: unit.Kilonewton,
		Parts:  [][]plot.Extent{{e(-0.2, 0), e(0, 0), e(0.2, 30)}, {e(0.5, 41), e(0.7, 12), e(1, 0)}},
		PeakAt: 0.5, End: 1, Peak: 41_300, Low: 41_000, High: 43_000,
	}
}

func strokes(t *testing.T, f plot.Figure) (svg string, n int) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, f.SVG(&b))
	return b.String(), strings.Count(b.String(), "<path")
}

func TestTraceMarksStartPeakAndEnd(t *testing.T) {
	svg, _ := strokes(t, plot.Trace(course()))
	for _, word := range []string{">start<", ">peak<", ">end<", "interval of the true peak", "force on the line, kN"} {
		assert.Contains(t, svg, word)
	}
}

func TestTraceLeavesGapsOpen(t *testing.T) {
	c := course()
	_, open := strokes(t, plot.Trace(c))
	c.Parts = [][]plot.Extent{append(append([]plot.Extent{}, c.Parts[0]...), c.Parts[1]...)}
	_, joined := strokes(t, plot.Trace(c))
	assert.Equal(t, joined+1, open, "two parts are two lines")
}

func TestTraceOfALowerBoundHasAnArrow(t *testing.T) {
	c := course()
	c.High = unit.Force(math.Inf(1))
	svg, _ := strokes(t, plot.Trace(c))
	assert.Contains(t, svg, "reading is only a lower bound")
	assert.NotContains(t, svg, "Inf")
	assert.NotContains(t, svg, "NaN")
}

// TestPeakStandsAboveTheTrace: its word does not cover the trace, in a low figure
// as a day has it either; lengths as the SVG tells them, upwards.
func TestPeakStandsAboveTheTrace(t *testing.T) {
	svg, _ := strokes(t, plot.Trace(course()).Lower(0.66))
	word := regexp.MustCompile(`y="-([0-9.]+)"[^>]*>peak<`).FindStringSubmatch(svg)
	require.NotNil(t, word)
	under, err := strconv.ParseFloat(word[1], 64)
	require.NoError(t, err)
	most := 0.0
	for _, p := range regexp.MustCompile(`d="(M[^"]*)"[^>]*stroke-width:0\.9`).FindAllStringSubmatch(svg, -1) {
		for _, y := range regexp.MustCompile(`,([0-9.]+)`).FindAllStringSubmatch(p[1], -1) {
			v, err := strconv.ParseFloat(y[1], 64)
			require.NoError(t, err)
			most = max(most, v)
		}
	}
	require.Positive(t, most)
	assert.Greater(t, under, most)
}
