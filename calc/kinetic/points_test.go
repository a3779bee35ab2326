package kinetic_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

func TestReadPoints(t *testing.T) {
	t.Parallel()
	want := []kinetic.Point{{0, 0}, {0.45, 5e3}, {0.9, 22e3}}
	for name, text := range map[string]string{
		"metres":     "stretch_m,force_N\n0,0\n0.45,5000\n0.9,22000\n",
		"millimetre": "# strap 9 m\nforce_kN;note;stretch_mm\n0;;0\n5;slow;450\n22;;900\n",
		"fraction":   "elongation,force_kN\n0,0\n0.05,5\n0.1,22\n",
		"percent":    "elongation_percent\tforce_kN\n0\t0\n5\t5\n10\t22\n",
	} {
		got, err := kinetic.ReadPoints(strings.NewReader(text), 9, false)
		require.NoError(t, err, name)
		require.Len(t, got, 3, name)
		for i, p := range want {
			assert.InDelta(t, float64(p.Stretch), float64(got[i].Stretch), 1e-12, name)
			assert.InDelta(t, float64(p.Force), float64(got[i].Force), 1e-9, name)
		}
	}
	got, err := kinetic.ReadPoints(strings.NewReader("stretch_m;force_t\n0,45;0,5\n"), 0, true)
	require.NoError(t, err)
	assert.Equal(t, []kinetic.Point{{0.45, unit.Force(0.5 * 9806.65)}}, got)
}

// What is read is what a curve takes, and the first fault is named with its
// line.
func TestReadPointsRefuses(t *testing.T) {
	t.Parallel()
	for text, words := range map[string]string{
		"stretch_m,load\n1,2\n":                     "line 1: there is no column of force",
		"stretch,force_N\n1,2\n":                    "line 1: there is no column of stretch",
		"stretch_kN,force_N\n1,2\n":                 "line 1: there is no column of stretch",
		"stretch_m,stretch_mm,force_N\n1,2,3\n":     "line 1: stretch_m and stretch_mm both tell the same",
		"stretch_m,force_N,force_kN\n1,2,3\n":       "line 1: force_N and force_kN both tell",
		"elongation,force_N\n0.1,2\n":               "line 1: elongation is a part of the strap's length",
		"stretch_m,force_N\n1,two\n":                `line 2: force_N is "two", not a number`,
		"stretch_m,force_N\n1,\n":                   `line 2: force_N is "", not a number`,
		"stretch_m,force_N\n1,0x10\n":               "line 2: force_N",
		"stretch_m,force_N\nNaN,5\n":                "line 2: stretch_m",
		"stretch_m;force_N\n0,5;3\n":                "decimal point",
		"stretch_m,force_N\n-1,5\n":                 "line 2: stretch_m is \"-1\": it cannot be below zero",
		"stretch_m,force_N\n0,0\n1,5\n0.5,6\n":      "line 4: stretch and force must both rise",
		"stretch_m,force_N\n\n# x,1\n1,5\n2,5\n":    "line 3: stretch_m",
		"stretch_m,force_N\n0,700\n1,900\n":         "line 2: stretch and force must both rise",
		"stretch_m,force_N\n0,0\n":                  "line 2: a curve needs at least one point",
		"stretch_m,force_N\n1,5\n0,0\n":             "line 3: stretch and force",
		"stretch_m,force_N\n":                       "no rows",
		"stretch_m,force_N\n1e308,5\n1e309,5e300\n": "line 3",
	} {
		_, err := kinetic.ReadPoints(strings.NewReader(text), 0, false)
		require.ErrorContains(t, err, words, "%q", text)
	}
	_, err := kinetic.ReadPoints(strings.NewReader("elongation,force_N\n20,5\n"), 9, false)
	require.ErrorContains(t, err, `line 2: elongation is "20", more than 1`)
	require.ErrorIs(t, err, kinetic.ErrCurve)
}

// FuzzReadPoints: what is read makes a curve; what is not gets a plain error.
func FuzzReadPoints(f *testing.F) {
	f.Add("stretch_m,force_N\n0,0\n0.45,5000\n0.9,22000\n", false)
	f.Add("elongation_percent;force_kN\n0,5;3\n", true)
	f.Fuzz(func(t *testing.T, text string, comma bool) {
		points, err := kinetic.ReadPoints(strings.NewReader(text), 9, comma)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		_, err = kinetic.NewMeasured(points)
		require.NoError(t, err, "%q", text)
	})
}
