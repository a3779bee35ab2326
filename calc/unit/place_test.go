package unit_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/unit"
)

var shown = []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF}

// span is a force with an interval around it, from a gram to a thousand tonnes
// and from a millionth of it to several times as wide.
func span(t *rapid.T) (f, low, high unit.Force) {
	size := math.Pow(10, rapid.Float64Range(-2, 7).Draw(t, "size"))
	width := size * math.Pow(10, rapid.Float64Range(-6, 0.5).Draw(t, "width"))
	low = unit.Force(size - width*rapid.Float64Range(0.01, 1).Draw(t, "below"))
	high = unit.Force(size + width*rapid.Float64Range(0.01, 1).Draw(t, "above"))
	return unit.Force(size), low, high
}

var plainNumbers = regexp.MustCompile(`-?\d+(\.\d+)?`)

// numbers are those in a text.
func numbers(t require.TestingT, text string) (out []float64, as []string) {
	for _, s := range plainNumbers.FindAllString(text, -1) {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		out, as = append(out, v), append(as, s)
	}
	return out, as
}

// significant counts the digits of a number, its trailing zeros where it has
// decimals.
func significant(s string) int {
	s = strings.TrimPrefix(s, "-")
	digits := strings.TrimLeft(strings.Replace(s, ".", "", 1), "0")
	if !strings.Contains(s, ".") {
		digits = strings.TrimRight(digits, "0")
	}
	return len(digits)
}

// JCGM 100:2008, 7.2.6 (from memory): an uncertainty is told with at most two
// significant digits, and what it belongs to down to the same place.
func TestDigitsOfAnInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, low, high := span(t)
		u := rapid.SampledFrom(shown).Draw(t, "unit")
		said := unit.ShowInterval("true", f, low, high, u)
		told, as := numbers(t, said)
		require.Len(t, told, 3, said)
		for _, s := range as {
			assert.LessOrEqual(t, significant(s), 4, "no number has more than four digits: %s", said)
		}
		half := (high - low).In(u) / 2
		last := float64(unit.IntervalPlace(f, low, high, u))
		assert.LessOrEqual(t, half/last, 99.0000001, "half of the interval has at most two digits down there: %s", said)
		assert.InDelta(t, f.In(u), told[0], last*0.5000001, said)
		assert.LessOrEqual(t, told[1], low.In(u)+1e-6*last, "the low end is told at or below it: %s", said)
		assert.GreaterOrEqual(t, told[2], high.In(u)-1e-6*last, "the high end is told at or above it: %s", said)
		assert.Less(t, low.In(u)-told[1], last, "and no further than its last digit: %s", said)
		assert.Less(t, told[2]-high.In(u), last, said)
		assert.True(t, told[1] <= told[0] && told[0] <= told[2], said)
		if far := math.Max(math.Abs(f.In(u)), high.In(u)); half > far/90 {
			assert.Greater(t, half/last, 8.9, "two digits are told where four of the whole allow it: %s", said)
		}
	})
}

func TestDigitsOfHalfAnInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, low, high := span(t)
		half := (high - low) / 2
		u := rapid.SampledFrom(shown).Draw(t, "unit")
		said := unit.ShowHalf(f, half, u)
		told, as := numbers(t, said)
		require.Len(t, told, 2, said)
		assert.LessOrEqual(t, significant(as[0]), 4, said)
		assert.LessOrEqual(t, significant(as[1]), 2, said)
		little := 1e-6 * half.In(u)
		assert.LessOrEqual(t, told[0]-told[1], (f-half).In(u)+little, "what is told holds the interval: %s", said)
		assert.GreaterOrEqual(t, told[0]+told[1], (f+half).In(u)-little, said)
	})
}

// What is over a limit never reads as equal to it or below.
func TestALoadAndItsLimitReadAsTheyAre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := unit.Force(math.Pow(10, rapid.Float64Range(2, 6).Draw(t, "limit")))
		by := math.Pow(10, rapid.Float64Range(-6, -0.5).Draw(t, "by"))
		if rapid.Bool().Draw(t, "below") {
			by = -by
		}
		f := limit * unit.Force(1+by)
		wide := f * unit.Force(math.Pow(10, rapid.Float64Range(-5, -0.5).Draw(t, "width")))
		u := rapid.SampledFrom(shown).Draw(t, "unit")
		for name, load := range map[string]unit.Load{"alone": {Value: f}, "with its interval": {Value: f, Low: f - wide, High: f + wide/3}} {
			last := unit.Apart(limit, u, load)
			told, of := load.Value.Told(u, last), limit.Told(u, last)
			if load.Low != load.High {
				place := last
				if place == 0 {
					place = unit.IntervalPlace(f, load.Low, load.High, u)
				}
				told, _ = unit.IntervalParts("true", f, load.Low, load.High, place, u)
				high, _ := numbers(t, load.High.ToldAbove(u, place))
				is, _ := numbers(t, of)
				assert.Equal(t, load.High > limit, high[0] > is[0], "%s: its end %v beside %s", name, high, of)
			}
			a, _ := numbers(t, told)
			b, _ := numbers(t, of)
			assert.Equal(t, f > limit, a[0] > b[0], "%s: %s of %s", name, told, of)
			assert.NotEqual(t, a, b, name)
		}
		said, _ := numbers(t, unit.Percent(float64(f/limit)))
		assert.Equal(t, f > limit, said[0] > 100, "%v", said)
		assert.NotEqual(t, 100.0, said[0])
	})
}

func TestNearALimit(t *testing.T) {
	last := unit.Apart(31900, unit.Kilonewton, unit.Load{Value: 31912})
	assert.Equal(t, "31.91 kN", unit.Force(31912).Told(unit.Kilonewton, last))
	assert.Equal(t, "31.90 kN", unit.Force(31900).Told(unit.Kilonewton, last))
	assert.Zero(t, unit.Apart(31900, unit.Kilonewton, unit.Load{Value: 30100}))
	assert.Zero(t, unit.Apart(31900, unit.Kilonewton, unit.Load{Value: 31900}), "equal loads are told as equal")
	for share, want := range map[float64]string{0.61: "61 %", 1: "100 %", 0.996: "99.6 %", 1.0004: "100.04 %", 1.3: "130 %"} {
		assert.Equal(t, want, unit.Percent(share))
	}
}
