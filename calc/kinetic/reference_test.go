package kinetic_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// reference reads a file of testdata/kinetic, whose README names the sources.
func reference(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "kinetic", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// The inputs are printed to six digits or more.
func TestReferencePulls(t *testing.T) {
	t.Parallel()
	var ref struct {
		Cases []struct {
			Breaking   float64 `json:"B_N"`
			Elongation float64 `json:"eps_B"`
			Length     float64 `json:"L_m"`
			Puller     float64 `json:"m1_kg"`
			Stuck      float64 `json:"m2_kg"`
			Speed      float64 `json:"v_mps"`
			K          float64 `json:"k"`
			Fixed      float64 `json:"F_fixed_N"`
			Stretch    float64 `json:"x_m"`
			TimeToPeak float64 `json:"t_peak_s"`
			TwoMass    float64 `json:"F_two_mass_N"`
			Thrust8kN  float64 `json:"F_thrust_8kN"`
		}
	}
	reference(t, "dynamics.json", &ref)
	require.Len(t, ref.Cases, 3)
	for _, c := range ref.Cases {
		k := kinetic.Secant(unit.Force(c.Breaking), c.Elongation, unit.Length(c.Length))
		assert.InEpsilon(t, c.K, float64(k), 1e-6)
		fixed := kinetic.Pull{Puller: unit.Mass(c.Puller), Stuck: unit.Mass(c.Stuck), Speed: unit.Speed(c.Speed), Line: kinetic.Line{Curve: kinetic.Linear(k)}, Fixed: true}
		free, thrust := fixed, fixed
		free.Fixed = false
		thrust.Drive = 8000
		for name, solve := range map[string]func(kinetic.Pull) kinetic.Result{"formula": closed(t), "integration": integrated(t)} {
			r := solve(fixed)
			assert.InEpsilon(t, c.Fixed, float64(r.Peak), 1e-4, name)
			assert.InEpsilon(t, c.Stretch, float64(r.Stretch), 1e-4, name)
			assert.InDelta(t, c.TimeToPeak, r.PeakAt, 0.00005+1e-9, "%s: printed to a tenth of a millisecond", name)
			assert.InEpsilon(t, c.TwoMass, float64(solve(free).Peak), 1e-4, name)
			assert.InEpsilon(t, c.Thrust8kN, float64(solve(thrust).Peak), 1e-4, name)
		}
	}
}

func closed(t *testing.T) func(kinetic.Pull) kinetic.Result {
	return func(p kinetic.Pull) kinetic.Result {
		r, err := kinetic.Closed(p)
		require.NoError(t, err)
		return r
	}
}

func integrated(t *testing.T) func(kinetic.Pull) kinetic.Result {
	return func(p kinetic.Pull) kinetic.Result {
		m, err := kinetic.Solve(p, kinetic.Options{})
		require.NoError(t, err)
		return m.Result
	}
}

// A wagon into its buffers is the same spring as a vehicle into a strap.
func TestProblemBookWagon(t *testing.T) {
	t.Parallel()
	var ref struct {
		Problems []struct {
			Mass  float64 `json:"m_kg"`
			Speed float64 `json:"v"`
			Dx    float64 `json:"dx_m"`
			Force float64 `json:"F_N"`
		}
	}
	reference(t, "dynamics.json", &ref)
	require.Len(t, ref.Problems, 1)
	p := ref.Problems[0]
	k := p.Mass * p.Speed * p.Speed / (p.Dx * p.Dx)
	r := integrated(t)(kinetic.Pull{Puller: unit.Mass(p.Mass), Speed: unit.Speed(p.Speed), Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(k)}})
	assert.InEpsilon(t, p.Force, float64(r.Peak), 5e-4, "the book rounds to 1.167e4")
	assert.InEpsilon(t, p.Dx, float64(r.Stretch), 1e-6)
}

// A fall onto a rope is a pull with the weight as the drive: the formula of the
// impact force on climbing ropes is the same algebra as Closed.
func TestFallForce(t *testing.T) {
	t.Parallel()
	var ref struct {
		EA    float64 `json:"EA_N"`
		Cases []struct {
			Mass   float64 `json:"mass_kg"`
			Factor float64 `json:"fall_factor"`
			Force  float64 `json:"F_N"`
		}
	}
	reference(t, "fall.json", &ref)
	require.Len(t, ref.Cases, 6)
	const length = 2.6 // of the rope in the standard fall
	for _, c := range ref.Cases {
		speed := unit.Speed(fallSpeed(c.Factor * length))
		r := closed(t)(kinetic.Pull{
			Puller: unit.Mass(c.Mass), Speed: speed, Drive: unit.Mass(c.Mass).Weight(), Fixed: true,
			Line: kinetic.Line{Curve: kinetic.Linear(ref.EA / length)},
		})
		assert.InEpsilon(t, c.Force, float64(r.Peak), 1e-9)
	}
}
