package gear_test

import (
	"encoding/json"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

func deg(d float64) *unit.Angle { a := unit.Degrees(d); return &a }

func at(d float64) gear.Heading { return gear.Heading{Angle: deg(d)} }

func TestSideLoadAgainstThePrintedTable(t *testing.T) {
	t.Parallel()
	rows := needs.Table(t, "testdata/shackle_side_load.csv")
	require.Len(t, rows, 4)
	for _, row := range rows[1:] {
		angle, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		want, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		got, ok := gear.SideLoad(unit.Degrees(angle))
		require.True(t, ok)
		assert.InDelta(t, want, got, 0, row[0])
	}
}

// Bands 0-5, 6-45, 46-90 and none beyond: WAC 296-155-33905. Within a band
// nothing changes.
func TestSideLoadIsInSteps(t *testing.T) {
	t.Parallel()
	for d, want := range map[float64]float64{0: 1, 5: 1, 6: 0.7, 20: 0.7, 44.9: 0.7, 45: 0.7, 46: 0.5, 89: 0.5, 90: 0.5, -30: 0.7} {
		got, ok := gear.SideLoad(unit.Degrees(d))
		require.True(t, ok)
		assert.InDelta(t, want, got, 0, "%v°", d)
	}
	_, ok := gear.SideLoad(unit.Degrees(91))
	assert.False(t, ok)
}

func TestMatch(t *testing.T) {
	t.Parallel()
	const point, shackle = gear.RecoveryPoint, gear.BowShackle
	fullTurn := gear.Direction{Rule: gear.FullTurn}
	for name, c := range map[string]struct {
		kind gear.Kind
		d    gear.Direction
		h    gear.Heading
		fit  gear.Fit
		left float64
	}{
		"straight point in line":                    {point, gear.Straight(), at(0), gear.Applies, 1},
		"straight point within the first band":      {point, gear.Straight(), at(5), gear.Applies, 1},
		"straight point at an angle":                {point, gear.Straight(), at(10), gear.Refused, 0},
		"straight point, angle not recorded":        {point, gear.Straight(), gear.Heading{}, gear.Unsure, 1},
		"straight block, angle not recorded":        {gear.Block, gear.Straight(), gear.Heading{}, gear.Applies, 1},
		"up to 30, at 30":                           {point, gear.Within(unit.Degrees(30)), at(30), gear.Applies, 1},
		"up to 30, at -31":                          {point, gear.Within(unit.Degrees(30)), at(-31), gear.Refused, 0},
		"up to 30, full turn of unknown angle":      {point, gear.Within(unit.Degrees(30)), gear.Heading{FullTurn: true}, gear.Unsure, 1},
		"full turn, at full turn":                   {point, fullTurn, gear.Heading{FullTurn: true}, gear.Applies, 1},
		"full turn, angle within what wheels turn":  {point, fullTurn, gear.Heading{Angle: deg(30), TurnLimit: deg(34)}, gear.Applies, 1},
		"full turn, angle beyond what wheels turn":  {point, fullTurn, gear.Heading{Angle: deg(40), TurnLimit: deg(34)}, gear.Refused, 0},
		"full turn, turn of this vehicle not known": {point, fullTurn, at(30), gear.Unsure, 1},
		"any direction":                             {point, gear.Direction{Rule: gear.AnyDirection}, at(80), gear.Applies, 1},
		"unstated point at an angle":                {point, gear.Direction{}, at(30), gear.Unsure, 1},
		"unstated point in line":                    {point, gear.Direction{}, at(3), gear.Applies, 1},
		"unstated shackle at an angle":              {shackle, gear.Direction{}, at(30), gear.Applies, 0.7},
		"unstated shackle, not recorded":            {shackle, gear.Direction{}, gear.Heading{}, gear.Applies, 1},
		"shackle past 90":                           {shackle, gear.Direction{}, at(100), gear.Refused, 0},
		"shackle rated straight only":               {shackle, gear.Straight(), at(30), gear.Refused, 0},
		"a strap lies in the line":                  {gear.RecoveryStrap, gear.Straight(), at(60), gear.Applies, 1},
	} {
		m := c.d.Match(c.kind, c.h)
		assert.Equal(t, c.fit, m.Fit, name)
		assert.InDelta(t, c.left, m.Fraction, 0, name)
		assert.Equal(t, c.fit != gear.Applies, m.Why != "", "what does not simply apply says why: %s", name)
	}
}

// An angle is said in a sentence as people write it, not as it is typed.
func TestAngleNotRecordedInWords(t *testing.T) {
	t.Parallel()
	d := gear.Direction{Rule: gear.UpTo, Max: unit.Degrees(45)}
	assert.Equal(t, "rated up to 45° and the angle of the line at it was not recorded", d.Match(gear.RecoveryPoint, gear.Heading{}).Why)
	assert.Equal(t, "up to 45deg", d.String(), "which is read back")
}

func TestOff(t *testing.T) {
	t.Parallel()
	assert.InDelta(t, 30, gear.Off(unit.Degrees(30), 0).Degrees(), 1e-9)
	assert.InDelta(t, 30, gear.Off(0, unit.Degrees(-30)).Degrees(), 1e-9)
	assert.InDelta(t, 60, gear.Off(unit.Degrees(45), unit.Degrees(45)).Degrees(), 1e-9, "cos 45° · cos 45° = 1/2")
}

func TestWorking(t *testing.T) {
	t.Parallel()
	four := 4.0
	w, ok := gear.Rating{Value: 1000, Basis: gear.WLL}.Working()
	assert.True(t, ok)
	assert.Equal(t, unit.Force(1000), w)
	w, ok = gear.Rating{Value: 1000, Basis: gear.MBS, DesignFactor: &four}.Working()
	assert.True(t, ok)
	assert.Equal(t, unit.Force(250), w)
	for _, r := range []gear.Rating{{Value: 1, Basis: gear.MBS}, {Value: 1, Basis: gear.Proof}, {Value: 1, Basis: gear.Unknown}} {
		_, ok = r.Working()
		assert.False(t, ok, "no design factor is ever assumed: %s", r.Basis)
	}
}

func TestStrengthPicksTheRatingForTheUse(t *testing.T) {
	t.Parallel()
	two := 2.0
	point := gear.Item{Name: "p", Kind: gear.RecoveryPoint, Ratings: []gear.Rating{
		{Value: 50, Basis: gear.WLL, Direction: gear.Straight()},
		{Value: 30, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(45))},
		{Value: 80, Basis: gear.WLL, Together: gear.Pair, Direction: gear.Straight()},
		{Value: 200, Basis: gear.MBS, DesignFactor: &two, Direction: gear.Straight()},
		{Value: 60, Basis: gear.Unknown},
	}}
	s := point.Strength(gear.Situation{Heading: at(0)})
	assert.Equal(t, unit.Force(50), s.Working.Value, "the narrower rating speaks in line; a WLL stands before an MBS")
	assert.Equal(t, unit.Force(200), s.Breaking.Value)
	assert.Equal(t, unit.Force(60), s.Ceiling.Value)
	assert.Equal(t, []string{"rated only as a pair, and used alone"}, s.Refused)

	s = point.Strength(gear.Situation{Heading: at(30)})
	assert.Equal(t, unit.Force(30), s.Working.Value)
	assert.Equal(t, unit.Force(200), s.Breaking.Value, "more than the strength in line breaks it at an angle too")
	assert.Len(t, s.Refused, 3)

	s = point.Strength(gear.Situation{Heading: at(0), Paired: true, PairHeading: at(0)})
	assert.Equal(t, unit.Force(40), s.Working.Value, "alone and as half of the pair must both hold")
	assert.True(t, s.Working.Halved)

	s = point.Strength(gear.Situation{Heading: at(60)})
	assert.Nil(t, s.Working)
	assert.NotEmpty(t, s.Refused)
}

func TestStrengthTakesTheLowerOfTwoEqualStamps(t *testing.T) {
	t.Parallel()
	it := gear.Item{Name: "s", Kind: gear.BowShackle, Ratings: []gear.Rating{{Value: 47, Basis: gear.WLL}, {Value: 32, Basis: gear.WLL}}}
	assert.Equal(t, unit.Force(32), it.Strength(gear.Situation{}).Working.Value)
}

func TestStrengthPrefersWhatIsSure(t *testing.T) {
	t.Parallel()
	it := gear.Item{Name: "p", Kind: gear.RecoveryPoint, Ratings: []gear.Rating{
		{Value: 20, Basis: gear.WLL}, {Value: 30, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(30))}}}
	s := it.Strength(gear.Situation{Heading: at(20)})
	assert.Equal(t, unit.Force(30), s.Working.Value)
	assert.True(t, s.Working.Sure)
}

func TestStrengthOfNothing(t *testing.T) {
	t.Parallel()
	assert.Equal(t, gear.Strength{}, gear.Item{Name: "x", Kind: gear.Ring}.Strength(gear.Situation{}))
}

func TestDirectionText(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := gear.Direction{Rule: gear.DirectionRule(rapid.IntRange(0, 5).Draw(t, "rule"))}
		if d.Rule == gear.UpTo {
			d.Max = unit.Angle(rapid.Float64Range(0, 3.14159).Draw(t, "max"))
		}
		b, err := json.Marshal(d)
		require.NoError(t, err)
		var back gear.Direction
		require.NoError(t, json.Unmarshal(b, &back))
		require.Equal(t, d, back, string(b))
	})
	assert.Equal(t, "up to 30deg", gear.Within(unit.Degrees(30)).String())
	require.ErrorIs(t, new(gear.Direction).UnmarshalText([]byte("up to 30")), unit.ErrNoUnit)
}

func TestWordsAreRefused(t *testing.T) {
	t.Parallel()
	assert.ErrorContains(t, new(gear.Kind).UnmarshalText([]byte("Shackle")), `"Shackle" is not a kind of gear: write one of recovery point, mounting`)
	assert.ErrorContains(t, new(gear.Basis).UnmarshalText([]byte("SWL")), `"SWL" is not a basis of a rating: write one of WLL, MBS, proof load, unknown`)
	assert.ErrorContains(t, new(gear.Together).UnmarshalText([]byte("both")), `write one of alone, pair`)
	assert.ErrorContains(t, new(gear.FactorFrom).UnmarshalText([]byte("me")), `write one of maker, owner`)
	for _, k := range gear.Kinds() {
		var back gear.Kind
		require.NoError(t, back.UnmarshalText([]byte(k)))
		assert.Equal(t, k, back)
	}
}

func TestCheck(t *testing.T) {
	t.Parallel()
	zero, none, half := unit.Length(0), unit.Mass(-1), 0.5
	nothing := unit.Stiffness(0)
	it := gear.Item{Kind: "rope", Length: &zero, Mass: &none, Stiffness: &nothing, Ratings: []gear.Rating{
		{Value: -5, Basis: gear.MBS, DesignFactor: &half}, {Value: 5, Direction: gear.Within(unit.Degrees(200))}}}
	var paths []string
	for _, p := range it.Check() {
		paths = append(paths, p.Path)
	}
	assert.Equal(t, []string{"name", "kind", "length", "mass", "stiffness", "ratings#1.value", "ratings#1.design_factor", "ratings#2.basis", "ratings#2.direction"}, paths)
	assert.Empty(t, gear.Item{Name: "ring 3", Kind: gear.Ring}.Check(), "an item without a rating is one whose rating is unknown")

	assert.Len(t, gear.Vehicle{GVM: &none, Weighed: &none, Wheelbase: &zero, FullTurn: deg(95)}.Check(), 5)
	assert.Empty(t, gear.Vehicle{Name: "the big willow"}.Check())
}
