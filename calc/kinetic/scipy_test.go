package kinetic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

// fallSpeed is the speed after a free fall of h metres.
func fallSpeed(h float64) float64 { return math.Sqrt(2 * unit.StandardGravity * h) }

// cubic is a line that stiffens: f(x) = k·x + c·x³.
type cubic struct{ k, c float64 }

func (l cubic) Force(x float64) float64  { return x * (l.k + l.c*x*x) }
func (l cubic) Energy(x float64) float64 { return x * x * (l.k/2 + l.c*x*x/4) }

type scipyCase struct {
	M1     float64      `json:"m1"`
	M2     float64      `json:"m2"`
	V      float64      `json:"v"`
	K      float64      `json:"k"`
	C      float64      `json:"c"`
	Points [][2]float64 `json:"points"` // of a measured curve, in place of k and c
	Loss   float64      `json:"loss"`
	Drive  float64      `json:"drive"`
	Hold   float64      `json:"hold"`
}

func (c scipyCase) pull(t *testing.T) kinetic.Pull {
	p := kinetic.Pull{
		Puller: unit.Mass(c.M1), Stuck: unit.Mass(c.M2), Speed: unit.Speed(c.V), Drive: unit.Force(c.Drive), Resistance: unit.Force(c.Hold),
		Line: kinetic.Line{Curve: cubic{c.K, c.C}, Loss: c.Loss},
	}
	if len(c.Points) == 0 {
		return p
	}
	strap := kinetic.Strap{Loss: c.Loss}
	for _, x := range c.Points {
		strap.Points = append(strap.Points, kinetic.Point{Stretch: unit.Length(x[0]), Force: unit.Force(x[1])})
	}
	line, err := strap.Line()
	require.NoError(t, err)
	p.Line = line
	return p
}

type scipyAnswer struct {
	First struct {
		Peak, At, Stretch float64
		Moves             bool
	}
	Until  float64
	Motion []struct{ Force, Puller, Stuck float64 }
}

// TestAgreesWithScipy compares peaks and whole motions with solve_ivp, driven
// by testdata/scipy/two_body.py, on 300 random pulls: nonlinear lines, measured
// curves (there SciPy's PCHIP), loss, drive, a stuck vehicle that starts and
// stops.
func TestAgreesWithScipy(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(7, 200))
	between := func(a, b float64) float64 { return a + (b-a)*random.Float64() }
	cases := make([]scipyCase, 300)
	for i := range cases {
		cases[i] = scipyCase{
			M1: between(800, 12000), M2: between(800, 12000), V: between(0.5, 7), K: between(8e3, 2e5), C: between(0, 6e4),
			Loss: between(0, 0.6) * float64(i%2), Drive: between(0, 25e3), Hold: between(0, 90e3),
		}
		if i >= 200 {
			x, f := 0.0, 0.0
			for range 2 + random.IntN(6) {
				x, f = x+between(0.05, 0.6), f+between(6e3, 40e3)
				cases[i].Points = append(cases[i].Points, [2]float64{x, f})
			}
		}
	}
	var answers []scipyAnswer
	needs.Scipy(t, "../../testdata/scipy/two_body.py", cases, &answers)
	require.Len(t, answers, len(cases))
	for i, a := range answers {
		n := 0
		p := cases[i].pull(t)
		m, err := kinetic.Solve(p, kinetic.Options{Until: a.Until, Interval: a.Until / 10, Each: func(s kinetic.Sample) {
			if n++; n == 1 || n > 11 {
				return
			}
			want := a.Motion[n-2]
			assert.InDelta(t, want.Force, float64(s.Force), 1e-4*a.First.Peak, "%+v: force at %g s", cases[i], s.At)
			assert.InDelta(t, want.Puller, float64(s.Puller), 1e-4*a.First.Stretch, "%+v: puller at %g s", cases[i], s.At)
			assert.InDelta(t, want.Stuck, float64(s.Stuck), 1e-4*a.First.Stretch, "%+v: stuck vehicle at %g s", cases[i], s.At)
		}})
		require.NoError(t, err)
		require.GreaterOrEqual(t, n, 10)
		first := integrated(t)(p)
		assert.InEpsilon(t, a.First.Peak, float64(first.Peak), 1e-4, "%+v", cases[i])
		assert.InEpsilon(t, a.First.At, first.PeakAt, 1e-4, "%+v", cases[i])
		assert.InEpsilon(t, a.First.Stretch, float64(first.Stretch), 1e-4, "%+v", cases[i])
		assert.Equal(t, a.First.Moves, first.Moves, "%+v", cases[i])
		assert.InDelta(t, 0, imbalance(m.Ledger), 1e-6)
	}
}
