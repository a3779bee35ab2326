package rating_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// legged is a rig with a cell in each leg of a bridle that may not share.
func legged(included float64, equaliser bool) rig.Rig {
	anyWay := gear.Rating{Value: 50 * tonne, Basis: gear.WLL, Direction: gear.Direction{Rule: gear.AnyDirection}}
	leg := func(side string) []rig.Use {
		return []rig.Use{gearOf(side+" cell", gear.LoadCell, wll(100*tonne)), gearOf(side+" point", gear.RecoveryPoint, anyWay)}
	}
	strap := gearOf("bridle", gear.Bridle, wll(50*tonne))
	return rig.Rig{Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: []rig.Link{
		rig.InLine(gear.Item{Name: "shackle", Kind: gear.BowShackle, Ratings: []gear.Rating{wll(50 * tonne)}}),
		{Bridle: &rig.Bridle{Included: unit.Degrees(included), Equaliser: equaliser, Strap: &strap, Left: leg("left"), Right: leg("right")}}}}
}

func reading(cell string, f unit.Force) rating.Reading {
	return rating.Reading{Cell: cell, Peak: rating.Peak{Value: f, Low: f * 0.99, High: f * 1.02}}
}

func both(t require.TestingT, a, b rating.Reading, r rig.Rig) rating.Result {
	res, err := rating.JudgeBoth(a, b, r, unit.TonneF)
	require.NoError(t, err)
	return res
}

// A cell in each leg tells what one of them alone cannot: the other leg, and
// the line. Two forces of 3 and 4 at 90° make 5.
func TestTwoCellsInTheLegsOfABridleTellAll(t *testing.T) {
	t.Parallel()
	r := legged(90, false)
	res := both(t, reading("left cell", 3*tonne), reading("right cell", 4*tonne), r)
	for name, want := range map[string]unit.Force{"left point": 3, "right point": 4, "left cell": 3, "right cell": 4, "shackle": 5, "bridle": 4} {
		it := item(t, res, name)
		require.True(t, it.Known, name)
		assert.Empty(t, it.Cases, name)
		assert.InDelta(t, float64(want), float64(it.Carried/tonne), 1e-9, name)
		assert.InDelta(t, float64(want)*1.02, float64(it.High/tonne), 1e-9, name)
		assert.Equal(t, rating.Inside, it.Verdict, name)
	}
	assert.Contains(t, item(t, res, "shackle").Share.Sentence, "F being at most √(F₁² + F₂² + 2 F₁ F₂ cos 90°)")
	assert.Contains(t, item(t, res, "shackle").Reason, "It carried at most 5")
	assert.Contains(t, item(t, res, "bridle").Reason, "It carried 4.000 t")
	assert.Contains(t, res.Summary, "right cell read 4.000 t (true peak 3.960 to 4.080) at its peak. The two peaks need not be at the same moment")

	alone, err := rating.JudgeBy(reading("left cell", 3*tonne), r, unit.TonneF)
	require.NoError(t, err)
	assert.Equal(t, rating.NotJudged, item(t, alone, "shackle").Verdict)
	other, err := rating.JudgeBy(reading("right cell", 3*tonne), r, unit.TonneF)
	require.NoError(t, err)
	assert.True(t, item(t, other, "right point").Known)
	assert.False(t, item(t, other, "left point").Known)
}

// One function judges what was read: by both cells, or by one alone, which it
// then says. A rig with one cell says nothing of another.
func TestJudgeReadSaysWhenACellIsMissing(t *testing.T) {
	t.Parallel()
	r, left, right := legged(60, false), reading("left cell", 3*tonne), reading("right cell", 4*tonne)
	two, err := rating.JudgeRead(left, &right, r, unit.TonneF)
	require.NoError(t, err)
	assert.Equal(t, both(t, left, right, r), two)
	one, err := rating.JudgeRead(right, nil, r, unit.TonneF)
	require.NoError(t, err)
	assert.Equal(t, "There is no pull of left cell at that moment: everything is judged by right cell alone.", one.Remarks[0])
	alone, err := rating.JudgeBy(right, r, unit.TonneF)
	require.NoError(t, err)
	one.Remarks = one.Remarks[1:]
	assert.Equal(t, alone, one)
	single, err := rating.JudgeRead(reading("any", tonne), nil, of(), "")
	require.NoError(t, err)
	assert.NotContains(t, strings.Join(single.Remarks, " "), "There is no pull of")
}

// Each item follows from the cell that says most of it: here the one on its
// side of the block, which tells what the sheave took.
func TestTwoCellsOnBothSidesOfABlock(t *testing.T) {
	t.Parallel()
	loss := 0.1
	r := of(gearOf("near shackle", gear.BowShackle, wll(50*tonne)))
	r.Chain = append(r.Chain, rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(60), Loss: &loss, Block: []rig.Use{gearOf("block", gear.Block, wll(50*tonne))}}})
	far, end := gearOf("far cell", gear.LoadCell, wll(50*tonne)), gearOf("far shackle", gear.BowShackle, wll(50*tonne))
	r.Chain = append(r.Chain, rig.Link{Use: &far}, rig.Link{Use: &end})
	res := both(t, reading("cell", 10*tonne), reading("far cell", 8*tonne), r)
	assert.InDelta(t, 10, float64(item(t, res, "near shackle").Carried/tonne), 1e-9)
	assert.InDelta(t, 8, float64(item(t, res, "far shackle").Carried/tonne), 1e-9)
	assert.Contains(t, res.Summary, " far cell read 8.00 t (true peak 7.92 to 8.16) at its peak; by cell and the rig it is 9 t, 11 % less.")
}

func TestReadingsOfCellsThatAreNotThere(t *testing.T) {
	t.Parallel()
	r := legged(60, false)
	_, err := rating.JudgeBy(reading("River-9", 1), r, "")
	require.EqualError(t, err, `the rig has no load cell "River-9": its cells are left cell, right cell`)
	_, err = rating.JudgeBoth(reading("left cell", 1), reading("River-9", 1), r, "")
	require.ErrorContains(t, err, `no load cell "River-9"`)
	_, err = rating.JudgeBoth(reading("left cell", 1), reading("left cell", 1), r, "")
	require.ErrorContains(t, err, `both readings are of "left cell"`)
	_, err = rating.Judge(rating.Peak{Value: 1}, r, "")
	require.EqualError(t, err, "the rig has two load cells, left cell, right cell: which one read the peak is not said")
	res, err := rating.JudgeBy(reading("as the shelf calls it", tonne), of(), "")
	require.NoError(t, err, "where there is only one it was that")
	assert.InDelta(t, float64(tonne), float64(item(t, res, "cell").Carried), 1e-9)
	_, err = rating.JudgeBy(rating.Reading{}, rig.Rig{}, "")
	require.ErrorIs(t, err, rig.ErrRig)
}

// With equal readings two cells say what one cell and a bridle that shares
// say, and the line never carries less than either leg, nor more than both.
func TestTwoCellsAgreeWithOne(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(0, 119).Draw(t, "included")
		a := unit.Force(rapid.Float64Range(1, 200e3).Draw(t, "left"))
		b := unit.Force(rapid.Float64Range(1, 200e3).Draw(t, "right"))
		line := item(t, both(t, reading("left cell", a), reading("right cell", b), legged(angle, false)), "shackle").Carried
		assert.GreaterOrEqual(t, line, max(a, b))
		assert.LessOrEqual(t, float64(line), float64(a+b)*(1+1e-12))

		same := item(t, both(t, reading("left cell", a), reading("right cell", a), legged(angle, false)), "shackle").Carried
		shared, err := rating.JudgeBy(reading("left cell", a), legged(angle, true), "")
		require.NoError(t, err)
		assert.InEpsilon(t, float64(item(t, shared, "shackle").Carried), float64(same), 1e-9)
		assert.InEpsilon(t, 2*float64(a)*math.Cos(angle*math.Pi/360), float64(same), 1e-9)
	})
}
