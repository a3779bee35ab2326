package web

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/analysis/shock"
)

// A coefficient is told with whichever of its limits there are.
func TestCoefficientSays(t *testing.T) {
	t.Parallel()
	low, high := 0.31, 0.52
	for want, c := range map[string]shock.CoefficientRecord{
		"0.40 (95 % interval 0.31 to 0.52)":                                                     {Value: 0.4, Low: &low, High: &high},
		"0.40; too few days for an interval":                                                    {Value: 0.4},
		"0.40, at least 0.31 with 95 % confidence; the pulls leave open whether anything moved": {Value: 0.4, Low: &low},
		"at least 0.40; nothing moved before the peak":                                          {Value: 0.4, Still: true},
	} {
		assert.Equal(t, want, coefficient(c))
	}
}
