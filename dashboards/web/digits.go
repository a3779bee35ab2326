package web

import (
	"math"
	"strings"

	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// lastDigit is the force that the last digit of the live reading stands for:
// a power of ten near a thousandth of the cell's capacity, so that the digits
// neither dance with the noise nor claim what the cell cannot tell.
func lastDigit(c store.Cell) unit.Force {
	if c.Capacity <= 0 {
		return 100
	}
	return unit.Force(math.Pow(10, math.Round(math.Log10(float64(c.Capacity)/1000))))
}

// digits is a force without its unit, for the large reading.
func digits(f unit.Force, u unit.ForceUnit, step unit.Force) string {
	return strings.TrimSuffix(f.Show(u, step), " "+string(u))
}
