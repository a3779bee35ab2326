package steady_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

func drawRange(t *rapid.T, name string, most float64) steady.Share {
	low := rapid.Float64Range(0, most).Draw(t, name+" low")
	return steady.Between(low, low+rapid.Float64Range(0, most).Draw(t, name+" width"))
}

// drawLine is any line that is possible, with the sheaves that it needs or
// more.
func drawLine(t *rapid.T) steady.Line {
	l := steady.Line{Parts: rapid.IntRange(1, steady.MaxParts).Draw(t, "parts")}
	for range rapid.IntRange(0, 2).Draw(t, "redirects") {
		l.Redirects = append(l.Redirects, unit.Degrees(rapid.Float64Range(0, 180).Draw(t, "redirect")))
	}
	l.Sheaves = steady.UsualSheaves(l.Parts, len(l.Redirects)) + rapid.IntRange(0, 2).Draw(t, "more sheaves")
	if rapid.Bool().Draw(t, "measured loss") {
		loss := rapid.Float64Range(0, 0.5).Draw(t, "loss")
		l.Loss = &loss
	}
	return l
}

func drawPlan(t *rapid.T) steady.Plan {
	s := rapid.SampledFrom(steady.Surfaces()).Draw(t, "surface")
	p := steady.Plan{
		Mass:    unit.Mass(rapid.Float64Range(100, 40000).Draw(t, "mass")),
		Surface: &s,
		Mire:    rapid.SampledFrom(steady.Mires()).Draw(t, "mire"),
		Grade:   unit.Degrees(rapid.Float64Range(0, 60).Draw(t, "grade")),
		Side:    unit.Degrees(rapid.Float64Range(0, 40).Draw(t, "side")),
		Drag:    steady.Load{},
		Line:    drawLine(t),
	}
	if rapid.Bool().Draw(t, "drag") {
		d := drawRange(t, "drag", 20000)
		p.Drag = steady.Between(unit.Force(d.Low), unit.Force(d.High))
	}
	if rapid.Bool().Draw(t, "measured rolling") {
		p.OwnRolling = &steady.Own{Share: drawRange(t, "rolling", 0.5)}
	}
	if rapid.Bool().Draw(t, "measured mire") {
		p.OwnMire = &steady.Own{Share: drawRange(t, "mire", 3)}
	}
	return p
}

// loads are all the loads of a result.
func loads(r steady.Result) []steady.Load {
	all := []steady.Load{r.Resistance, r.Line, r.Anchor, r.Across.Force, r.Tackle.Force}
	for _, t := range r.Terms {
		all = append(all, t.Force)
	}
	for _, b := range r.Blocks {
		all = append(all, b.Load)
	}
	return all
}

// Ranges run upwards, the terms add up to the resistance, the parts carry it
// with the tackle's, and each term names where it comes from.
func TestRangesAndSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		r := calculate(t, p)
		for _, l := range loads(r) {
			assert.GreaterOrEqual(t, l.Low, unit.Force(0))
			assert.LessOrEqual(t, l.Low, l.Likely)
			assert.LessOrEqual(t, l.Likely, l.High)
		}
		var sum steady.Load
		for _, term := range r.Terms {
			sum = steady.Load{Low: sum.Low + term.Force.Low, Likely: sum.Likely + term.Force.Likely, High: sum.High + term.Force.High}
			assert.NotEmpty(t, term.How)
			assert.NotEmpty(t, term.Status.Words())
			assert.True(t, term.Force.High == 0 || len(term.Sources) > 0, "%s names its source", term.Kind)
		}
		assert.Equal(t, sum, r.Resistance)
		within(t, r.Resistance.High+r.Tackle.Force.High, r.Line.High*unit.Force(p.Line.Parts))
		within(t, r.Resistance.Low+r.Tackle.Force.Low, r.Line.Low*unit.Force(p.Line.Parts))
	})
}

func within(t *rapid.T, want, got unit.Force) {
	assert.InDelta(t, float64(want), float64(got), 1e-9*(1+math.Abs(float64(want))))
}

// notBelow wants every load of more to be at least that of less.
func notBelow(t *rapid.T, less, more steady.Result, why string) {
	a, b := loads(less), loads(more)
	slack := 1e-12 * (1 + less.Resistance.High + less.Anchor.High) // rounding
	for i := range a {
		assert.GreaterOrEqual(t, b[i].Low, a[i].Low-slack, why)
		assert.GreaterOrEqual(t, b[i].Likely, a[i].Likely-slack, why)
		assert.GreaterOrEqual(t, b[i].High, a[i].High-slack, why)
	}
}

func TestMoreResistsMore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		r := calculate(t, p)
		heavier, steeper, deeper, damaged, lossy := p, p, p, p, p
		heavier.Mass += unit.Mass(rapid.Float64Range(0, 10000).Draw(t, "more mass"))
		notBelow(t, r, calculate(t, heavier), "a heavier vehicle")
		steeper.Grade += unit.Degrees(rapid.Float64Range(0, 29).Draw(t, "more grade"))
		notBelow(t, r, calculate(t, steeper), "a steeper slope")
		deeper.Mire = steady.CabDeep
		notBelow(t, r, calculate(t, deeper), "deeper in the mire")
		damaged.Drag.High += 100
		notBelow(t, r, calculate(t, damaged), "more drag")
		lossy.Line.Sheaves++
		notBelow(t, r, calculate(t, lossy), "one more sheave")
	})
}

// Without drag every load is a multiple of the weight.
func TestLoadsScaleWithTheMass(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		p.Drag = steady.Load{}
		k := rapid.Float64Range(0.1, 10).Draw(t, "scale")
		a := loads(calculate(t, p))
		p.Mass *= unit.Mass(k)
		for i, l := range loads(calculate(t, p)) {
			within(t, a[i].Likely*unit.Force(k), l.Likely)
			within(t, a[i].High*unit.Force(k), l.High)
		}
	})
}

// Sheaves that take nothing leave the resistance over the parts.
func TestPartsDivide(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		none := 0.0
		p.Line.Loss = &none
		r := calculate(t, p)
		within(t, r.Resistance.Likely/unit.Force(p.Line.Parts), r.Line.Likely)
		assert.InDelta(t, 0, float64(r.Tackle.Force.High/(1+r.Resistance.High)), 1e-12)
		p.Line.Loss, p.Line.Sheaves = nil, 0
		within(t, r.Line.High, calculate(t, p).Line.High)
	})
}

// The anchor carries as many hauled parts as it holds; the blocks 2 cos(θ/2).
func TestAnchorsAndBlocks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		all := calculate(t, p)
		within(t, all.Resistance.High+all.Tackle.Force.High, all.Anchor.High)
		p.Line.AnchorLines = rapid.IntRange(1, p.Line.Parts).Draw(t, "anchor lines")
		r := calculate(t, p)
		within(t, r.Line.High*unit.Force(p.Line.AnchorLines), r.Anchor.High)
		require.Len(t, r.Blocks, len(p.Line.Redirects))
		for i, b := range r.Blocks {
			// By the cosine rule for two equal sides: an independent way.
			square := 2 + 2*math.Cos(float64(p.Line.Redirects[i]))
			assert.InDelta(t, math.Sqrt(math.Max(0, square)), b.Factor, 1e-7)
			within(t, r.Line.High*unit.Force(b.Factor), b.Load.High)
		}
	})
}

// The parts that a winch takes are enough, and one less is not.
func TestPartsForIsTheLeast(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t)
		p.Winch = &steady.Winch{Rated: unit.Force(rapid.Float64Range(5000, 100000).Draw(t, "winch")), Layer: rapid.SampledFrom([]int{1, 3, steady.FullDrum}).Draw(t, "layer")}
		r := calculate(t, p)
		least := r.Winch.Pull.Low
		line := func(parts int) unit.Force {
			l := p.Line
			l.Sheaves, l.Parts = max(0, l.Sheaves+parts-l.Parts), parts
			return l.Pull(r.Resistance.High)
		}
		if r.Winch.Parts == 0 {
			assert.GreaterOrEqual(t, line(steady.MaxParts), least)
			return
		}
		assert.Less(t, line(r.Winch.Parts), least)
		if r.Winch.Parts > 1 {
			assert.GreaterOrEqual(t, line(r.Winch.Parts-1), least*(1-1e-12))
		}
	})
}

// A rig with the same tackle says the same of a measured loss: a cell on the
// hauled part, an item at the stuck end. The rig is solved block by block.
func TestAgreesWithARig(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.IntRange(2, 6).Draw(t, "parts")
		loss := rapid.Float64Range(0, 0.3).Draw(t, "loss")
		use := func(name string, k gear.Kind) rig.Use { return rig.Use{Item: gear.Item{Name: name, Kind: k}} }
		stuck := use("stuck", gear.Ring)
		tackle := &rig.Tackle{Parts: parts, Loss: &loss, Fall: []rig.Use{use("cell", gear.LoadCell)}, Sheaves: make([][]rig.Use, parts-1)}
		r := rig.Rig{Name: "r", Pulling: gear.Vehicle{Name: "p"}, Stuck: gear.Vehicle{Name: "s"}, Chain: []rig.Link{{Tackle: tackle}, {Use: &stuck}}}
		places, err := r.Places()
		require.NoError(t, err)
		for _, place := range places {
			if place.Use.Item.Name == "stuck" {
				l := steady.Line{Parts: parts, Sheaves: parts - 1, Loss: &loss}
				assert.InEpsilon(t, 1/place.Share.Factor, float64(l.Pull(1)), 1e-12)
			}
		}
	})
}

// A sheave between winch and tackle divides the pull by what it passes on.
func TestMeasuredLossOfARedirect(t *testing.T) {
	t.Parallel()
	loss := 0.04
	l := steady.Line{Parts: 2, Sheaves: 1, Loss: &loss}
	assert.InEpsilon(t, 1/1.96, float64(l.Pull(1)), 1e-12)
	l.Sheaves = 2
	assert.InEpsilon(t, 1/1.96/0.96, float64(l.Pull(1)), 1e-12)
}

func named(t *testing.T, name string) *steady.Surface {
	t.Helper()
	s, err := steady.SurfaceNamed(name)
	require.NoError(t, err)
	return &s
}

// What was measured takes the place of the table, and says so.
func TestOwnMeasurements(t *testing.T) {
	t.Parallel()
	p := steady.Plan{Mass: 2000, Surface: named(t, "sand"), Mire: steady.WheelDeep, Line: steady.Line{Parts: 1}}
	r := calculate(t, p)
	assert.True(t, r.FromMemory())
	assert.InDelta(t, 0.1, float64(r.Terms[0].Force.Low/p.Mass.Weight()), 1e-12)
	assert.InDelta(t, 0.4, float64(r.Terms[0].Force.High/p.Mass.Weight()), 1e-12)

	p.OwnRolling = &steady.Own{Share: steady.Between(0.12, 0.18), From: "9 pulls"}
	p.OwnMire = &steady.Own{Share: steady.Exactly(0.7)}
	r = calculate(t, p)
	assert.False(t, r.FromMemory())
	assert.InDelta(t, 0.82, float64(r.Resistance.Low/p.Mass.Weight()), 1e-12)
	assert.InDelta(t, 0.88, float64(r.Resistance.High/p.Mass.Weight()), 1e-12)
	assert.Equal(t, []steady.Source{{Text: "9 pulls", Status: steady.Measured}, {Text: "own measurement", Status: steady.Measured}}, r.Sources)
	for _, remark := range r.Remarks {
		assert.NotContains(t, remark, "FROM MEMORY")
	}
}

func TestConflictsAreSaid(t *testing.T) {
	t.Parallel()
	for name, conflict := range map[string]bool{"rolled gravel": true, "sand": true, "gravel": true, "loose sand": false, "snow": false, "hard road": false} {
		s := named(t, name)
		assert.Equal(t, conflict, s.Conflict(), name)
		r := calculate(t, steady.Plan{Mass: 1000, Surface: s, Line: steady.Line{Parts: 1}})
		said := "The sources for " + name + " disagree; the range spans them all."
		assert.Equal(t, conflict, contains(r.Remarks, said), name)
	}
	assert.Equal(t, steady.Between(0.01, 0.02), named(t, "rolled gravel").Coefficient())
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func TestRemarks(t *testing.T) {
	t.Parallel()
	r := calculate(t, steady.Plan{Mass: 1000, Mire: steady.WheelDeep, Line: steady.Line{Parts: 3, Sheaves: 1}})
	assert.True(t, contains(r.Remarks, "Rolling is not counted, because no surface was named."))
	assert.True(t, contains(r.Remarks, "3 line parts run over at least 2 sheaves; 1 was counted, so the line pull comes out too low."))
}

func TestSurfaceNames(t *testing.T) {
	t.Parallel()
	for _, s := range steady.Surfaces() {
		for _, name := range append([]string{s.Name}, s.Also...) {
			assert.Equal(t, s.Name, named(t, name).Name)
		}
	}
	assert.Equal(t, "medium hard soil", named(t, " Medium_hard-SOIL ").Name)
	_, err := steady.SurfaceNamed("treacle")
	require.ErrorIs(t, err, steady.ErrSurface)
	require.EqualError(t, err, `"treacle": not a surface in the tables; the surfaces are: firm ground, hard road, asphalt, concrete, worn asphalt or concrete, `+
		`worn cobbles, packed gravel, rolled gravel, loose gravel, gravel, medium hard soil, solid sand, sand, loose sand, snow`)
	_, err = steady.SurfaceNamed("soft mud")
	require.ErrorContains(t, err, "no handbook gives a coefficient for it")
}

func TestRefuses(t *testing.T) {
	t.Parallel()
	one, negative := 1.0, -0.1
	for want, change := range map[string]func(*steady.Plan){
		"the mass of the stuck vehicle": func(p *steady.Plan) { p.Mass = 0 },
		"want more than 0":              func(p *steady.Plan) { p.Mass = unit.Mass(math.NaN()) },
		"at most 1000 t":                func(p *steady.Plan) { p.Mass = unit.Mass(math.Inf(1)) },
		"a grade of 90°":                func(p *steady.Plan) { p.Grade = unit.Degrees(90) },
		"a grade of -1°":                func(p *steady.Plan) { p.Grade = unit.Degrees(-1) },
		"a side slope of unknown°":      func(p *steady.Plan) { p.Side = unit.Angle(math.NaN()) },
		"a drag from 2 kN to 1 kN":      func(p *steady.Plan) { p.Drag = steady.Between(unit.Force(2000), 1000) },
		"mire from -1 to -1 times":      func(p *steady.Plan) { p.OwnMire = &steady.Own{Share: steady.Exactly(-1.0)} },
		"rolling from 0.2 to 0.1":       func(p *steady.Plan) { p.OwnRolling = &steady.Own{Share: steady.Between(0.2, 0.1)} },
		`"axle" is no depth of mire`:    func(p *steady.Plan) { p.Mire = "axle" },
		`adds to "firm ground" only`:    func(p *steady.Plan) { p.Penetration = 0.1 },
		"tyres sunk in by 2 m":          func(p *steady.Plan) { p.Penetration = 2 },
		"0 line parts":                  func(p *steady.Plan) { p.Line.Parts = 0 },
		"17 line parts":                 func(p *steady.Plan) { p.Line.Parts = 17 },
		"-1 sheaves":                    func(p *steady.Plan) { p.Line.Sheaves = -1 },
		"cannot take 1 of":              func(p *steady.Plan) { p.Line.Loss = &one },
		"cannot take -0.1 of":           func(p *steady.Plan) { p.Line.Loss = &negative },
		"holds 2 of 1 line parts":       func(p *steady.Plan) { p.Line.AnchorLines = 2 },
		"181° between the two lines":    func(p *steady.Plan) { p.Line.Redirects = []unit.Angle{unit.Degrees(181)} },
		"no rated pull":                 func(p *steady.Plan) { p.Winch = &steady.Winch{Layer: 1} },
		"layer 6 of the drum":           func(p *steady.Plan) { p.Winch = &steady.Winch{Rated: 1, Layer: 6} },
		"layer 0 of the drum":           func(p *steady.Plan) { p.Winch = &steady.Winch{Rated: 1} },
	} {
		p := steady.Plan{Mass: 1000, Surface: named(t, "sand"), Line: steady.Line{Parts: 1}}
		change(&p)
		_, err := steady.Calculate(p)
		require.ErrorIs(t, err, steady.ErrPlan, want)
		assert.ErrorContains(t, err, want)
	}
}

func TestMireNames(t *testing.T) {
	t.Parallel()
	for i, m := range steady.Mires() {
		got, err := steady.ParseMire(string(m))
		require.NoError(t, err)
		assert.Equal(t, m, got)
		assert.Equal(t, float64(i), m.Factor(), "0, 1, 2, 3 times the weight")
		assert.NotEmpty(t, m.Words())
	}
	_, err := steady.ParseMire("axle")
	require.EqualError(t, err, `"axle" is no depth of mire: use one of none, wheel, fender, cab`)
	assert.Panics(t, func() { steady.Mire("axle").Factor() })
}
