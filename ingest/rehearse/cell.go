package rehearse

import (
	"errors"
	"fmt"
	"math"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/wire"
)

// Cell is a simulated load cell with its amplifier.
type Cell struct {
	Name     string
	Capacity unit.Force      // rated capacity
	Rate     float64         // readings a second, by its papers
	Curve    calibrate.Curve // newtons from readings; a straight line
	Wire     wire.Config     // what it sends
	PerFrame int             // readings in a packed frame; 10 when 0

	Noise     unit.Force // standard deviation of a reading
	Drift     unit.Force // change of the zero in an hour
	ZeroError unit.Force // of the zero at power-up, as left by the last taring
	Ceiling   unit.Force // beyond it in either direction the amplifier reads no higher; 1.2 times Capacity when 0
	Lag       float64    // first-order time constant of the amplifier in seconds; 0 none
	ClockPPM  float64    // how much faster its clock runs than ours, in millionths
}

// ErrCell says that a simulated cell is described in a way that cannot work.
var ErrCell = errors.New("cannot simulate this cell")

// Validate refuses a cell that cannot be simulated.
func (c Cell) Validate() error {
	if err := errors.Join(c.Curve.Validate(), c.Wire.Validate()); err != nil {
		return fmt.Errorf("%w: %w", ErrCell, err)
	}
	switch {
	case len(c.Curve.Coefficients) != 2:
		return fmt.Errorf("%w: its curve is not a straight line", ErrCell)
	case !(c.Rate > 0 && c.Rate <= 10000):
		return fmt.Errorf("%w: %g readings a second, want more than 0 and at most 10000", ErrCell, c.Rate)
	case c.Wire.Format == wire.Packed && (c.Rate < 16 || math.Abs(1e6/c.Rate-math.Round(1e6/c.Rate)) > 1e-9):
		return fmt.Errorf("%w: packed frames need a whole number of microseconds, at most 65535, between readings", ErrCell)
	case c.PerFrame < 0 || c.PerFrame > 255:
		return fmt.Errorf("%w: %d readings in a frame, want 1 to 255", ErrCell, c.PerFrame)
	case !(c.Capacity > 0 && c.Noise >= 0 && c.Lag >= 0 && c.Ceiling >= 0):
		return fmt.Errorf("%w: capacity must be above zero; noise, lag and ceiling must not be below it", ErrCell)
	}
	return nil
}

// ceiling is where the amplifier reads no higher.
func (c Cell) ceiling() float64 {
	return orElse(float64(c.Ceiling), 1.2*float64(c.Capacity))
}

// raw is the reading for a force at the amplifier's output.
func (c Cell) raw(force float64) int64 {
	return int64(math.Round((force - c.Curve.Coefficients[0]) / c.Curve.Coefficients[1]))
}
