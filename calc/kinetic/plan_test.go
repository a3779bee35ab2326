package kinetic_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

// ordinary is a plan that has every quantity a plan may have.
func ordinary() kinetic.Plan {
	return kinetic.Plan{
		Puller: 2800, Stuck: 3200, Speed: 2, Slack: 2, Drive: 20e3, Rolling: 500, Resistance: 30e3, Moving: 25e3,
		Grip:  &kinetic.Grip{Coefficient: 0.6},
		Strap: kinetic.Strap{Length: 9, MBS: 110e3, Elongation: 0.2, At: 50e3, Loss: 0.3, Wet: true, WetStiffness: 1.1},
	}
}

func calculated(t require.TestingT, p kinetic.Plan) kinetic.Outcome {
	out, err := p.Calculate()
	require.NoError(t, err)
	return out
}

// drawnPlan is any plausible plan that has a formula.
func drawnPlan(t *rapid.T) kinetic.Plan {
	p := drawn(t)
	return kinetic.Plan{
		Puller: p.Puller, Stuck: p.Stuck, Speed: p.Speed, Drive: p.Drive, Fixed: p.Fixed, Resistance: p.Resistance,
		Strap: kinetic.Strap{Stiffness: unit.Stiffness(p.Line.Curve.Force(1))},
	}
}

// A plan of nothing but the pull is the pull.
func TestPlanIsThePull(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawnPlan(t)
		out := calculated(t, p)
		want, err := kinetic.Closed(out.Pull)
		require.NoError(t, err)
		assert.True(t, out.ByFormula)
		assert.Equal(t, want, out.Result)
		assert.Equal(t, p.Speed, out.Pull.Speed)
		assert.Equal(t, p.Drive, out.Pull.Drive)
		assert.GreaterOrEqual(t, float64(out.Held.Peak), float64(out.Peak)*(1-1e-12), "held fast is the highest")
	})
}

// A loss, a curve of measured points and a bare stiffness say the same of the
// first peak where the points lie on a line: the loss comes after it.
func TestWaysToTheSamePeakAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawnPlan(t)
		want := calculated(t, p)
		lossy, pointed, elongated := p, p, p
		lossy.Strap.Loss = rapid.Float64Range(0.01, 0.7).Draw(t, "loss")
		k := p.Strap.Stiffness
		pointed.Strap = kinetic.Strap{Points: []kinetic.Point{{0.3, 0.3 * unit.Force(k)}, {0.9, 0.9 * unit.Force(k)}, {60, 60 * unit.Force(k)}}}
		load := unit.Force(rapid.Float64Range(1e3, 1e6).Draw(t, "load"))
		elongated.Strap = kinetic.Strap{Length: 10, At: load, Elongation: float64(load) / float64(k) / 10}
		for name, p := range map[string]kinetic.Plan{"loss": lossy, "points": pointed, "elongation": elongated} {
			got := calculated(t, p)
			assert.Equal(t, name == "elongation", got.ByFormula, name)
			assert.InEpsilon(t, float64(want.Peak), float64(got.Peak), 1e-6, name)
			assert.InEpsilon(t, want.PeakAt, got.PeakAt, 1e-6, name)
			assert.InEpsilon(t, want.Energy, got.Energy, 2e-6, name)
			assert.InEpsilon(t, float64(want.Held.Peak), float64(got.Held.Peak), 1e-6, name)
		}
	})
}

func TestPeakRises(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawnPlan(t)
		if rapid.Bool().Draw(t, "curved") {
			p.Strap = kinetic.Strap{Points: points(t)}
		}
		peak := func(p kinetic.Plan) float64 { return float64(calculated(t, p).Peak) }
		more := rapid.Float64Range(1.02, 3).Draw(t, "more")
		before := peak(p)
		faster, stiffer, pushed := p, p, p
		faster.Speed *= unit.Speed(more)
		assert.Greater(t, peak(faster), before, "speed")
		pushed.Drive = p.Drive*unit.Force(more) + 100
		assert.GreaterOrEqual(t, peak(pushed), before*(1-1e-7), "drive")
		if len(p.Strap.Points) > 0 {
			return // a stiffer strap may stay clear of the steep end of its curve
		}
		stiffer.Strap.Stiffness *= unit.Stiffness(more)
		assert.Greater(t, peak(stiffer), before, "stiffness")
	})
}

// UFC 4-159-03, table 6-8: for nylon double braid the axial stiffness AE is
// 3.54 times the breaking strength, so the secant elongation at break is
// 1/3.54 = 0.282. One printed AE is a misprint; see the file.
func TestElongationAtBreakOfNylonDoubleBraid(t *testing.T) {
	t.Parallel()
	rows := needs.Table(t, "../../testdata/kinetic/ufc_4_159_03_double_braid_nylon.csv")
	require.Len(t, rows, 16)
	for _, row := range rows[1:] {
		breaking, err := strconv.ParseFloat(row[3], 64)
		require.NoError(t, err)
		ae, err := strconv.ParseFloat(row[5], 64)
		require.NoError(t, err)
		strap := kinetic.Strap{Length: 9, MBS: unit.Force(1e5 * breaking), Elongation: 0.282}
		line, err := strap.Line()
		require.NoError(t, err)
		assert.InEpsilon(t, 1e5*ae/9, float64(line.Curve.(kinetic.Linear)), 0.005, "%s in", row[0])
		strap.Wet = true
		assert.InEpsilon(t, 0.85e5*breaking, float64(strap.Strength()), 1e-12)
		wet, err := strap.Line()
		require.NoError(t, err)
		assert.Equal(t, line, wet, "wet changes no stiffness unless one was measured")
	}
}

func TestWhatFollowsFromThePeak(t *testing.T) {
	t.Parallel()
	p := ordinary()
	out := calculated(t, p)
	assert.False(t, out.ByFormula)
	assert.InEpsilon(t, 0.7*out.Energy, out.GivenBack, 1e-12)
	require.Len(t, out.Recoil, 3)
	for i, m := range []float64{1, 3, 5} {
		assert.Equal(t, unit.Mass(m), out.Recoil[i].Part)
		v := float64(out.Recoil[i].Speed)
		assert.InEpsilon(t, out.Energy, m*v*v/2, 1e-12)
	}
	assert.InDelta(t, 13.5, float64(out.KeepOut), 1e-12)
	share, ok := out.Share(out.Peak)
	require.True(t, ok)
	assert.InEpsilon(t, float64(out.Peak)/(0.85*110e3), share, 1e-12)
	assert.NotEmpty(t, out.Rebounds)
	assert.Less(t, out.Rebounds[0].Force, out.Peak)
	require.NotNil(t, out.Attempts[0].Way)
	assert.Positive(t, *out.Attempts[0].Way)
	p.Parts, p.KeepOut = []unit.Mass{3.5}, 3
	out = calculated(t, p)
	require.Len(t, out.Recoil, 1)
	assert.InDelta(t, 27, float64(out.KeepOut), 1e-12)
}

// The strap that was pulled n times is a strap stiffer by the share n times
// over, and nothing else.
func TestAttempts(t *testing.T) {
	t.Parallel()
	for name, strap := range map[string]kinetic.Strap{
		"linear":   {Stiffness: 40e3},
		"loss":     {Length: 9, MBS: 110e3, Elongation: 0.25, Loss: 0.2},
		"measured": {Points: []kinetic.Point{{0.5, 8e3}, {1, 22e3}, {1.6, 50e3}, {2.2, 110e3}}},
	} {
		p := kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 3, Resistance: 25e3, Drive: 4e3, Strap: strap, Attempts: 4, Stiffening: 0.06}
		out := calculated(t, p)
		require.Len(t, out.Attempts, 4, name)
		for n, a := range out.Attempts {
			alone := p
			alone.Attempts, alone.Stiffening = 1, 0
			times := math.Pow(1.06, float64(n))
			alone.Strap.Stiffness *= unit.Stiffness(times)
			alone.Strap.Elongation /= times
			alone.Strap.Points = nil
			for _, x := range strap.Points {
				alone.Strap.Points = append(alone.Strap.Points, kinetic.Point{Stretch: x.Stretch, Force: x.Force * unit.Force(times)})
			}
			want := calculated(t, alone)
			assert.InEpsilon(t, float64(want.Peak), float64(a.Peak), 1e-9, "%s, attempt %d", name, n+1)
			assert.InEpsilon(t, float64(*want.Attempts[0].Way), float64(*a.Way), 1e-6, "%s, attempt %d", name, n+1)
			assert.True(t, a.Stops)
			if n > 0 {
				assert.Greater(t, a.Peak, out.Attempts[n-1].Peak, name)
			}
		}
		p.Stiffening = 0
		out = calculated(t, p)
		require.Len(t, out.Attempts, 4)
		assert.Equal(t, out.Attempts[0], out.Attempts[3])
	}
}

// A vehicle that the drive alone can pull keeps moving.
func TestAttemptThatComesOut(t *testing.T) {
	t.Parallel()
	out := calculated(t, kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 2, Resistance: 8e3, Drive: 12e3, Strap: kinetic.Strap{Stiffness: 40e3}})
	assert.False(t, out.Attempts[0].Stops)
	assert.Greater(t, float64(*out.Attempts[0].Way), 10.0)
}

func TestRemarksSayWhatIsNotKnown(t *testing.T) {
	t.Parallel()
	for words, change := range map[string]func(*kinetic.Plan){
		"beyond the last measured point":         func(p *kinetic.Plan) { p.Strap = kinetic.Strap{Points: []kinetic.Point{{0.1, 5e3}, {0.2, 8e3}}} },
		"above the load at which the elongation": func(p *kinetic.Plan) { p.Strap.At = 10e3; p.Strap.Elongation = 0.04 },
		"15 % weaker":                            func(p *kinetic.Plan) {},
		"stiff as dry":                           func(p *kinetic.Plan) { p.Strap.WetStiffness = 0 },
		"first estimate":                         func(p *kinetic.Plan) {},
		"drive is capped":                        func(p *kinetic.Plan) { p.Grip.Coefficient = 0.3 },
		"less than every published figure":       func(p *kinetic.Plan) { p.KeepOut = 1 },
		"ask for 1.5 times":                      func(p *kinetic.Plan) {},
		"how many attempts are allowed":          func(p *kinetic.Plan) { p.Attempts = 2 },
		"all attempts come out alike":            func(p *kinetic.Plan) { p.Attempts = 2 },
		"the strap breaks before it":             func(p *kinetic.Plan) { p.Strap.MBS = 20e3 },
	} {
		p := ordinary()
		change(&p)
		assert.Contains(t, strings.Join(calculated(t, p).Remarks, " "), words)
	}
	bare := calculated(t, kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 2, Fixed: true, Strap: kinetic.Strap{Stiffness: 40e3}})
	assert.Len(t, bare.Remarks, 3, "a bare plan says no more than it must: %v", bare.Remarks)
}

// Where a later jerk is harder than the first one, that is said.
func TestHarderLaterJerk(t *testing.T) {
	t.Parallel()
	p := kinetic.Plan{
		Puller: 4290, Stuck: 2030, Speed: 5.43 / 3.6, Resistance: 20.4e3, Moving: 11.4e3, Drive: 12.1e3,
		Strap: kinetic.Strap{Stiffness: 29867},
	}
	out := calculated(t, p)
	assert.Greater(t, float64(out.Hardest), 1.03*float64(out.Peak))
	assert.Contains(t, strings.Join(out.Remarks, " "), "A later jerk is harder")
}

func TestPlanRefuses(t *testing.T) {
	t.Parallel()
	for words, spoil := range map[string]func(*kinetic.Plan){
		"mass of the puller":         func(p *kinetic.Plan) { p.Puller = 0 },
		"mass of the stuck":          func(p *kinetic.Plan) { p.Stuck = -1 },
		"speed cannot be":            func(p *kinetic.Plan) { p.Slack, p.Speed = 0, unit.Speed(math.NaN()) },
		"slack cannot be":            func(p *kinetic.Plan) { p.Slack = -1 },
		"stops before":               func(p *kinetic.Plan) { p.Drive, p.Rolling = 0, 5e3 },
		"in 2 ways":                  func(p *kinetic.Plan) { p.Strap.Stiffness = 5 },
		"in 0 ways":                  func(p *kinetic.Plan) { p.Strap.Elongation = 0 },
		"length of the strap cannot": func(p *kinetic.Plan) { p.Strap.Length = -1 },
		"only with the length":       func(p *kinetic.Plan) { p.Strap.Length = 0 },
		"load at which it was found": func(p *kinetic.Plan) { p.Strap.At, p.Strap.MBS = 0, 0 },
		"one that is dry":            func(p *kinetic.Plan) { p.Strap.Wet = false },
		"wet strap against the dry":  func(p *kinetic.Plan) { p.Strap.WetStiffness = -1 },
		"elongation of the strap":    func(p *kinetic.Plan) { p.Strap.Elongation = math.Inf(1) },
		"loss of the line":           func(p *kinetic.Plan) { p.Strap.Loss = 1 },
		"51 attempts":                func(p *kinetic.Plan) { p.Attempts = 51 },
		"cannot stiffen by -0.1":     func(p *kinetic.Plan) { p.Stiffening = -0.1 },
		"part cannot have":           func(p *kinetic.Plan) { p.Parts = []unit.Mass{0} },
		"nobody keeps away -1":       func(p *kinetic.Plan) { p.KeepOut = -1 },
		"coefficient of grip":        func(p *kinetic.Plan) { p.Grip.Coefficient = 0 },
		"weight on driven wheels":    func(p *kinetic.Plan) { p.Grip.Driven = 1.1 },
		"slope cannot be":            func(p *kinetic.Plan) { p.Slope = math.Pi / 2 },
		"cannot hold itself":         func(p *kinetic.Plan) { p.Slope = unit.Degrees(50) },
		"drive force cannot":         func(p *kinetic.Plan) { p.Drive = unit.Force(math.NaN()) },
		"resistance of the puller":   func(p *kinetic.Plan) { p.Rolling = -1 },
		"resistance cannot be -1":    func(p *kinetic.Plan) { p.Resistance = -1 },
	} {
		p := ordinary()
		spoil(&p)
		_, err := p.Calculate()
		require.ErrorIs(t, err, kinetic.ErrPull, words)
		require.ErrorContains(t, err, words)
	}
	p := ordinary()
	p.Strap = kinetic.Strap{Points: []kinetic.Point{{1, 10}, {1, 20}}}
	_, err := p.Calculate()
	require.ErrorIs(t, err, kinetic.ErrCurve)
}
