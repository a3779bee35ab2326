package shock

import "math"

// The share of pulls that a bound covers and how sure it is to cover them.
const (
	Content    = 0.95
	Confidence = 0.95
)

// Factor is the one-sided normal tolerance factor k: of n independent values
// with mean m and standard deviation s, both unknown before, m + k·s is with
// the given confidence at or above the given content of what they were drawn
// from. It is t'/√n with t' the quantile of the noncentral t distribution with
// n−1 degrees of freedom and noncentrality z·√n (ISO 16269-6; NIST/SEMATECH
// e-Handbook of Statistical Methods, 7.2.6.3). Fewer than two values have
// none: +Inf. It panics on a content or a confidence that is not between 0 and
// 1.
func Factor(n int, content, confidence float64) float64 {
	if n < 2 {
		return math.Inf(1)
	}
	return factor(float64(n), content, confidence)
}

// factor is Factor for a number of values that need not be whole.
func factor(n, content, confidence float64) float64 {
	b := belief{{weight: 1, chi: newChi(n-1, 0.4, 21), root: math.Sqrt(n - 1), sd: 1 / math.Sqrt(n), reach: 1}}
	return b.quantile(confidence, normalQuantile(content))
}
