package pull_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
)

// TestOtherShapes judges idealised shapes that the physics of this package's
// other traces does not make; the first word of each name is the kind.
const rounds = 15 // of each shape

func TestOtherShapes(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(77, 3))
	ramp := func(s, a, b float64) float64 { return math.Max(0, math.Min(1, (s-a)/(b-a))) }
	shapes := map[string]func(float64) func(s float64) float64{
		"kinetic haversine": func(u float64) func(float64) float64 {
			T := 0.3 + u
			return func(s float64) float64 {
				if s < 0 || s > T {
					return 0
				}
				x := math.Sin(math.Pi * s / T)
				return x * x
			}
		},
		"kinetic damped": func(u float64) func(float64) float64 {
			f, z := 0.5+2*u, 0.05+0.2*u
			return func(s float64) float64 {
				if s < 0 {
					return 0
				}
				return math.Max(0, math.Exp(-z*2*math.Pi*f*s)*math.Sin(2*math.Pi*f*s))
			}
		},
		"kinetic about tension": func(u float64) func(float64) float64 {
			f := 0.5 + 1.5*u
			return func(s float64) float64 {
				if s < 0 {
					return 0
				}
				return (0.3*(1-math.Exp(-5*s)) + 0.7*math.Exp(-0.1*2*math.Pi*f*s)*math.Sin(2*math.Pi*f*s)) * (1 - ramp(s, 5, 6))
			}
		},
		"kinetic triangle": func(u float64) func(float64) float64 {
			T := 0.3 + u
			return func(s float64) float64 { return math.Max(0, 1-math.Abs(s-T/2)/(T/2)) }
		},
		"steady flat": func(u float64) func(float64) float64 {
			return func(s float64) float64 { return ramp(s, 0, 1+3*u) * (1 - ramp(s, 12, 13)) }
		},
		"steady ripple 1%": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				return ramp(s, 0, 1+3*u) * (1 - ramp(s, 12, 13)) * (1 + 0.01*math.Sin(2*math.Pi*(0.5+u)*s))
			}
		},
		"steady short": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				return ramp(s, 0, 1) * (1 - ramp(s, 3+2*u, 4+2*u)) * (1 + 0.05*math.Sin(2*math.Pi*(1.5+u)*s))
			}
		},
		"steady rising": func(u float64) func(float64) float64 {
			return func(s float64) float64 { return (0.6*ramp(s, 0, 2) + 0.4*ramp(s, 2, 14)) * (1 - ramp(s, 15, 16)) }
		},
		"proof linear decay": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				return ramp(s, 0, 5+5*u) * (1 - 0.03*ramp(s, 5+5*u, 30)) * (1 - ramp(s, 30, 31))
			}
		},
		"proof tiny decay": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				return ramp(s, 0, 5+5*u) * (1 - 0.01*ramp(s, 5+5*u, 30)) * (1 - ramp(s, 30, 31))
			}
		},
		"proof log": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				return ramp(s, 0, 5) * (1 - 0.01*math.Log1p(math.Max(0, s-5))) * (1 - ramp(s, 30, 30.3))
			}
		},
		"proof smooth slow": func(u float64) func(float64) float64 {
			return func(s float64) float64 {
				x := ramp(s, 0, 10)
				return x * x * (3 - 2*x) * (1 - 0.04*(1-math.Exp(-math.Max(0, s-10)/5))) * (1 - ramp(s, 70, 72))
			}
		},
	}
	for _, name := range slices.Sorted(maps.Keys(shapes)) {
		mk := shapes[name]
		kind, _, _ := strings.Cut(name, " ")
		for range rounds {
			g := mk(r.Float64())
			peak := uniform(r, 8e3, 60e3)
			noise := uniform(r, 0, 0.002) * peak
			b := quiet(r, 1000, 85, noise, func(s float64) float64 { return peak * g(s-6) })
			top := 0.0
			for i := range b.T {
				top = math.Max(top, peak*g(float64(i)/1000-6))
			}
			found := find(pull.Config{FullScale: unit.Force(largest(b))}, b, 4096)
			if len(found) != 1 {
				for _, p := range found {
					t.Logf("%s %.2f-%.2f peak %.0f %v noise %.1f", p.Kind, float64(p.Start)/1e9, float64(p.End)/1e9, p.Peak, p.Flags, noise)
				}
			}
			require.Len(t, found, 1, name)
			assert.Equal(t, pull.Kind(kind), found[0].Kind, name)
			assert.InEpsilon(t, top, float64(found[0].Peak), 0.005, name)
		}
	}
}
