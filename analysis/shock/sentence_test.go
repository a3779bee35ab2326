package shock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/analysis/shock"
)

// TestModelShareSentence: the share by the fit is told of its class alone, and
// in numbers that somebody can read aloud at both ends.
func TestModelShareSentence(t *testing.T) {
	t.Parallel()
	of := shock.ClassName{Kind: "kinetic", Ground: "silt", Strap: "rope"}
	for _, c := range []struct {
		share, low, high float64
		want             string
	}{
		{0.11, 0.016, 0.37, "By the fit, 11 % of the pulls of that class (kinetic, silt, rope) are above it (95 % interval 1.6 % to 37 %)."},
		{0.991, 0.9, 0.99999, "By the fit, 99 % of the pulls of that class (kinetic, silt, rope) are above it (95 % interval 90 % to more than 99 %)."},
		{1e-7, 1e-12, 0.0061, "By the fit, less than 0.05 % of the pulls of that class (kinetic, silt, rope) are above it (95 % interval less than 0.05 % to 0.61 %)."},
		{1e-7, 1e-12, 1e-5, "By the fit, less than 0.05 % of the pulls of that class (kinetic, silt, rope) are above it."},
	} {
		assert.Equal(t, c.want, shock.ModelShare{ClassName: of, Share: c.share, Low: c.low, High: c.high}.Sentence())
	}
}

// TestStretchOfStrap: a strap that stretches by a fifth up to its breaking
// strength has a stiffness of five times its strength over its length.
func TestStretchOfStrap(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "as if it stretched by 20 % at its breaking strength", shock.CoefficientRecord{Value: 5}.Stretch())
}

// TestCheckedSentence: where the count alone would leave more than the bound
// says, the sentence tells why both hold.
func TestCheckedSentence(t *testing.T) {
	t.Parallel()
	high := 2.5
	deciding := &shock.ClassFit{Class: shock.Class{Kind: "kinetic", Ground: "silt", Strap: "rope"}, Pulls: 30, Days: 5}
	c := shock.Checked{Assumed: 3, Answer: shock.Supported, Pulls: 30, Perhaps: 2, High: 0.116, Upper: &high, Deciding: deciding}
	assert.Equal(t, "The log supports a multiplier of 3: with 95 % confidence at least 95 in 100 such pulls stay below it, and some may not."+
		" The bound is 2.5 (kinetic, silt, rope: 30 pulls on 5 days)."+
		" Counted, 0 of 30 pulls were above 3 times the weight. From the count alone, the share of such pulls above it is 0 % to 11.6 %, with 95 % confidence;"+
		" the bound says more, because it also takes in how far below 3 the peaks stayed."+
		" 2 more may have been above: the true peak may be higher than what was read.", c.Sentence())
	c.High = 0.04
	assert.NotContains(t, c.Sentence(), "the bound says more")
}
