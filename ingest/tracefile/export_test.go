package tracefile

import "math"

// At is time i of the grid.
func (g Grid) At(i int) int64 { return g.Start + int64(math.Round(g.Step*float64(i))) }
