package unit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/calc/unit"
)

func TestParseShare(t *testing.T) {
	for in, want := range map[string]float64{"7%": 0.07, " 7 % ": 0.07, "7\u00a0%": 0.07, "7\u202f%": 0.07, "0%": 0, "140%": 1.4} {
		got, err := unit.ParseShare(in)
		assert.NoError(t, err, in)
		assert.InDelta(t, want, got, 1e-15, in)
	}
	for in, say := range map[string]string{"7": "add %", "0.07": "add %", "": "plain decimal number", "x%": "plain decimal number", "NaN%": "plain decimal number", "Inf%": "plain decimal number"} {
		_, err := unit.ParseShare(in)
		assert.ErrorContains(t, err, say, in)
	}
}

// A grade of 100 % rises as much as it goes forward: 45°.
func TestParseGrade(t *testing.T) {
	for in, want := range map[string]float64{"100%": math.Pi / 4, "10deg": math.Pi / 18, "0%": 0} {
		got, err := unit.ParseGrade(in)
		assert.NoError(t, err, in)
		assert.InDelta(t, want, float64(got), 1e-15, in)
	}
	for in, say := range map[string]string{"10": "or % for the rise", "x%": "not a share", "10kN": "unknown unit"} {
		_, err := unit.ParseGrade(in)
		assert.ErrorContains(t, err, say, in)
	}
}
