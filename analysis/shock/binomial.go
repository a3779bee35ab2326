package shock

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// Share gives the exact two-sided limits of the share of which k among n were
// seen, each of which is wrong with at most half of 1 − confidence (Clopper
// and Pearson, Biometrika 26, 1934, 404-413). Nothing seen gives 0 to 1. It
// panics unless 0 ≤ k ≤ n and the confidence lies between 0 and 1.
func Share(k, n int, confidence float64) (low, high float64) {
	if k < 0 || k > n || !(confidence > 0 && confidence < 1) {
		panic(fmt.Sprintf("shock: no limits at confidence %g for a share of %d in %d", confidence, k, n))
	}
	tail := (1 - confidence) / 2
	high = 1
	if k > 0 {
		low = mathext.InvRegIncBeta(float64(k), float64(n-k+1), tail)
	}
	if k < n {
		high = mathext.InvRegIncBeta(float64(k+1), float64(n-k), 1-tail)
	}
	return low, high
}
