package shock

import (
	"cmp"
	"slices"
)

// Thin leaves of points about as many as can be told apart in a drawing: of
// more than most, the half that lies furthest from the middle in the value that
// is drawn, so that nothing that stands out is missing, and of the others every
// so manieth in the order given. The order stays.
func Thin[T any](points []T, most int, drawn func(T) float64) []T {
	if len(points) <= most {
		return points
	}
	values := make([]float64, len(points))
	for i, p := range points {
		values[i] = drawn(p)
	}
	mid := median(slices.Clone(values))
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	far := func(i int) float64 { return max(values[i]-mid, mid-values[i]) }
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(far(b), far(a)), cmp.Compare(a, b)) })
	keep := make([]bool, len(points))
	for _, i := range order[:most/2] {
		keep[i] = true
	}
	left, rest := len(points)-most/2, most-most/2
	out, seen := make([]T, 0, most), 0
	for i, p := range points {
		if !keep[i] {
			seen++
			keep[i] = seen*rest/left != (seen-1)*rest/left
		}
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}
