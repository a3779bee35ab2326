package steady_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

func TestParseRange(t *testing.T) {
	for in, want := range map[string][2]unit.Force{"3kN": {3000, 3000}, "3kN..5kN": {3000, 5000}, "3kN .. 3kN": {3000, 3000}} {
		got, err := steady.ParseRange(in, "force", unit.ParseForce)
		assert.NoError(t, err, in)
		assert.Equal(t, want, [2]unit.Force{got.Low, got.High}, in)
		assert.Equal(t, (want[0]+want[1])/2, got.Likely, in)
	}
	for in, say := range map[string]string{"5kN..3kN": "low end comes first", "-1kN": "cannot be below zero", "3..5kN": "bare number", "3kN..": "plain decimal number"} {
		_, err := steady.ParseRange(in, "force", unit.ParseForce)
		assert.ErrorContains(t, err, say, in)
	}
}
