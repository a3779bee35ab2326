package pull

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A damped oscillation has the decrement of its damping ratio: Inman,
// Engineering Vibration, section 1.6, from memory, ζ = δ/√(4π²+δ²). Once about a standing
// load that the line never loses, once cut off where a line goes slack.
func TestDampingOfADampedOscillation(t *testing.T) {
	const period = 1.25
	for _, zeta := range []float64{0.03, 0.1, 0.2} {
		omega := 2 * math.Pi / period
		decay := zeta / math.Sqrt(1-zeta*zeta) * omega
		phase := math.Atan(decay / omega) // the first maximum is at 0
		for _, standing := range []float64{0, 60e3} {
			var c course
			for x := 0.0; x < 6*period; x += 0.005 {
				c.t = append(c.t, int64(x*1e9))
				c.f = append(c.f, max(0, standing+30e3*math.Exp(-decay*x)*math.Cos(omega*x-phase)))
			}
			r := c.findRebounds(0, 0, standing+30e3*math.Cos(phase), period/3, 0)
			assert.InEpsilon(t, 1/period, r.hz, 0.01, "ζ %g about %g N", zeta, standing)
			assert.InEpsilon(t, zeta, r.damping, 0.06, "ζ %g about %g N", zeta, standing)
		}
	}
}
