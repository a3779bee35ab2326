package rig_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

func item(name string, k gear.Kind) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k}}
}

func inLine(name string, k gear.Kind) rig.Link { return rig.InLine(item(name, k).Item) }

var cell = inLine("cell", gear.LoadCell)

// of is a rig of these links between two vehicles.
func of(links ...rig.Link) rig.Rig {
	return rig.Rig{Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: links}
}

// bridle is a link with a shackle and a point in each leg.
func bridle(deg float64, equaliser bool) rig.Link {
	return rig.Link{Bridle: &rig.Bridle{
		Included: unit.Degrees(deg), Equaliser: equaliser,
		Left:  []rig.Use{item("left shackle", gear.BowShackle), item("left point", gear.RecoveryPoint)},
		Right: []rig.Use{item("right shackle", gear.BowShackle), item("right point", gear.RecoveryPoint)},
	}}
}

func redirect(deg float64, loss *float64) rig.Link {
	return rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(deg), Loss: loss,
		Block: []rig.Use{item("block", gear.Block), item("anchor", gear.GroundAnchor)}}}
}

// places solves the rig and gives its places by the names of the items.
func places(t require.TestingT, r rig.Rig) map[string]rig.Place {
	ps, err := r.Places()
	require.NoError(t, err)
	byName := map[string]rig.Place{}
	for _, p := range ps {
		byName[p.Use.Item.Name] = p
	}
	return byName
}

// table reads a published table; numbers that are not, such as a diameter in
// fractions of an inch, read as zero.
func table(t *testing.T, name string) [][]float64 {
	rows := needs.Table(t, "testdata/"+name)
	require.Greater(t, len(rows), 3)
	var out [][]float64
	for _, row := range rows[1:] {
		var numbers []float64
		for _, s := range row {
			v, _ := strconv.ParseFloat(s, 64)
			numbers = append(numbers, v)
		}
		out = append(out, numbers)
	}
	return out
}

func TestBlockAgainstThePrintedChart(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "block_angle_factors.csv") {
		p := places(t, of(cell, redirect(row[0], nil), inLine("shackle", gear.BowShackle)))
		assert.InDelta(t, row[1], p["block"].Share.Factor, 0.01, "the chart truncates, at %v°", row[0])
		assert.Equal(t, p["block"].Share.Factor, p["anchor"].Share.Factor, "what anchors the block carries the same")
		assert.InDelta(t, 1, p["shackle"].Share.Factor, 0)
	}
}

// Worked examples of the same handbook pages: line pull 1000 lb.
func TestBlockAgainstWorkedExamples(t *testing.T) {
	t.Parallel()
	for deg, pounds := range map[float64]float64{0: 2000, 30: 1930, 50: 1810, 90: 1410, 135: 760} {
		p := places(t, of(cell, redirect(deg, nil)))
		assert.InDelta(t, pounds, 1000*p["block"].Share.Factor, 10, "%v°", deg)
	}
}

// A leg at h to the horizontal of a sling stands at 90°-h to the load.
func TestBridleAgainstSlingTable(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "sling_angle_factors.csv") {
		p := places(t, of(cell, bridle(180-2*row[0], true)))
		assert.InDelta(t, 1/row[1], 2*p["left point"].Share.Factor, 0.006/row[1], "%v°", row[0])
		assert.Nil(t, p["left point"].Share.Alone)
	}
}

func TestBridleAgainstOSHABasketRatings(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "osha_1918_basket.csv") {
		for i, deg := range []float64{90, 60, 45, 30} {
			p := places(t, of(cell, bridle(180-2*deg, true)))
			leg := row[2+i] * p["left point"].Share.Factor
			assert.InEpsilon(t, row[1], leg, 0.06, "a basket at its rating loads each leg to the vertical rating")
		}
	}
}

func TestBridleAgainstChainTable(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "chain_as3775_2.csv") {
		tolerance := 0.01
		if row[0] < 10 {
			tolerance = 0.03 // one decimal of a small number
		}
		for i, deg := range []float64{60, 90, 120} {
			p := places(t, of(cell, bridle(deg, true)))
			assert.InEpsilon(t, row[1], row[2+i]*p["right point"].Share.Factor, tolerance, "%v mm at %v°", row[0], deg)
		}
	}
}

func TestFormulas(t *testing.T) {
	t.Parallel()
	ten := 0.1
	p := places(t, of(inLine("shackle", gear.BowShackle), redirect(120, nil), cell, bridle(60, true)))
	assert.Equal(t, "F", p["shackle"].Share.Formula)
	assert.Equal(t, "the line here carries F", p["shackle"].Share.Sentence)
	assert.Equal(t, "the block and its anchor carry 2 F cos 60° = 1.00 F", p["block"].Share.Sentence)
	assert.Equal(t, "each leg carries F / (2 cos 30°) = 0.58 F", p["left point"].Share.Sentence)
	assert.Equal(t, "the cell reads F", p["cell"].Share.Sentence)

	p = places(t, of(bridle(60, false), cell))
	assert.Equal(t, "each leg carries F / (2 cos 30°) = 0.58 F if the legs share, and F if it takes all: there is no equaliser", p["left point"].Share.Sentence)
	require.NotNil(t, p["left point"].Share.Alone)
	assert.InDelta(t, 1, *p["left point"].Share.Alone, 0)

	p = places(t, of(inLine("before", gear.BowShackle), redirect(90, &ten), cell))
	assert.Equal(t, "F / 0.9 = 1.11 F", p["before"].Share.Formula)
	assert.Equal(t, "F √(1 + 0.9² + 2 · 0.9 cos 90°) / 0.9 = 1.49 F", p["block"].Share.Formula)
}

func TestCellInALeg(t *testing.T) {
	t.Parallel()
	inLeg := func(equaliser bool) map[string]rig.Place {
		b := bridle(60, equaliser)
		b.Bridle.Left = append([]rig.Use{*cell.Use}, b.Bridle.Left...)
		return places(t, of(inLine("shackle", gear.BowShackle), b))
	}
	shared := inLeg(true)
	assert.Equal(t, "2 F cos 30° = 1.73 F", shared["shackle"].Share.Formula)
	assert.Equal(t, "F", shared["right point"].Share.Formula)
	assert.False(t, shared["right point"].Share.Unbounded)

	free := inLeg(false)
	assert.True(t, free["shackle"].Share.Unbounded, "the other leg may carry anything, and so the line")
	assert.True(t, free["right point"].Share.Unbounded)
	assert.False(t, free["left point"].Share.Unbounded, "its own leg is what the cell reads")
	assert.Nil(t, free["left point"].Share.Alone)
	assert.InDelta(t, 1, free["left point"].Share.Factor, 0)
}

// tackle is a tackle of n parts with a named item everywhere.
func tackle(n int, loss *float64) rig.Link {
	t := rig.Tackle{Parts: n, Loss: loss, Fall: []rig.Use{item("winch", gear.Winch)}, Dead: []rig.Use{item("dead", gear.BowShackle)}}
	for i := range n - 1 {
		t.Sheaves = append(t.Sheaves, []rig.Use{item("sheave "+strconv.Itoa(i+1), gear.Block)})
	}
	return rig.Link{Tackle: &t}
}

// With 10 % of the line pull lost in a sheave (the army recovery manuals'
// allowance) the second part holds 0.9 of the first.
func TestTackleWithLoss(t *testing.T) {
	t.Parallel()
	ten := 0.1
	tk := tackle(2, &ten)
	tk.Tackle.Fall = append(tk.Tackle.Fall, *cell.Use)
	p := places(t, of(tk, inLine("point", gear.RecoveryPoint)))
	assert.InDelta(t, 1.9, p["point"].Share.Factor, 1e-12)
	assert.InDelta(t, 1.9, p["sheave 1"].Share.Factor, 1e-12)
	assert.InDelta(t, 0.9, p["dead"].Share.Factor, 1e-12)

	tk = tackle(2, &ten)
	tk.Tackle.Dead = append(tk.Tackle.Dead, *cell.Use)
	p = places(t, of(tk, inLine("point", gear.RecoveryPoint)))
	assert.InDelta(t, 1.9/0.9, p["point"].Share.Factor, 1e-12, "a cell on the dead line reads less than one on the hauled part")
	assert.InDelta(t, 1/0.9, p["winch"].Share.Factor, 1e-12)
}

// The same allowance in the sheets' own terms: resistance over mechanical
// advantage, without loss, is the line pull: 40000 lb on 2 parts is 20000.
func TestTackleWithoutLoss(t *testing.T) {
	t.Parallel()
	for n := 2; n <= 5; n++ {
		p := places(t, of(tackle(n, nil), cell))
		assert.InDelta(t, 1/float64(n), p["winch"].Share.Factor, 1e-12)
		assert.InDelta(t, 2/float64(n), p["sheave 1"].Share.Factor, 1e-12)
		assert.InDelta(t, 1/float64(n), p["dead"].Share.Factor, 1e-12)
	}
}

func TestEnds(t *testing.T) {
	t.Parallel()
	p := places(t, of(inLine("mounting", gear.Mounting), inLine("point", gear.RecoveryPoint), cell,
		inLine("strap", gear.RecoveryStrap), bridle(60, true)))
	assert.Equal(t, rig.PullingEnd, p["mounting"].End)
	assert.Equal(t, rig.PullingEnd, p["point"].End)
	assert.Equal(t, rig.Side(""), p["strap"].End)
	assert.Equal(t, rig.StuckEnd, p["left point"].End)
	assert.Equal(t, "5.left.2", p["left point"].Ref)
	assert.Equal(t, "left leg of the bridle at Otter", p["left point"].Where)
}

// A line is hauled from the pulling end: its first sheave hangs at the other
// end, the next one here, and so on, and the dead end is where no sheave is
// left. Common practice, no source.
func TestEndsOfATackle(t *testing.T) {
	t.Parallel()
	here, there := rig.PullingEnd, rig.StuckEnd
	for parts, want := range map[int][]rig.Side{2: {there, here}, 3: {there, here, there}, 4: {there, here, there, here}} {
		p := places(t, of(tackle(parts, nil), cell))
		assert.Equal(t, here, p["winch"].End, "%d parts", parts)
		for i := range parts - 1 {
			assert.Equal(t, want[i], p["sheave "+strconv.Itoa(i+1)].End, "%d parts, sheave %d", parts, i+1)
		}
		assert.Equal(t, want[parts-1], p["dead"].End, "%d parts", parts)
	}
}

func TestHeadings(t *testing.T) {
	t.Parallel()
	angle := func(d float64) *unit.Angle { a := unit.Degrees(d); return &a }
	b := bridle(60, true)
	p := places(t, of(cell, b))
	assert.InDelta(t, 30, p["left point"].Heading.Angle.Degrees(), 1e-9, "half of the included angle follows from the rig")
	assert.Nil(t, p["left shackle"].Heading.Angle, "a shackle turns into its leg")
	assert.True(t, p["left point"].Paired)

	b.Bridle.OffAxis = &rig.OffAxis{Horizontal: angle(-10)}
	b.Bridle.Left[1].OffAxis = &rig.OffAxis{Horizontal: angle(12), Vertical: angle(5)}
	p = places(t, of(cell, b))
	assert.InDelta(t, 12.986, p["left point"].Heading.Angle.Degrees(), 1e-3, "as recorded: acos(cos 12° cos 5°)")
	assert.InDelta(t, 40, p["right point"].Heading.Angle.Degrees(), 1e-9, "the line's own angle comes on top")
	assert.InDelta(t, 10, p["right point"].PairHeading.Angle.Degrees(), 1e-9)

	r := of(cell, inLine("point", gear.RecoveryPoint))
	r.Chain[1].OffAxis = &rig.OffAxis{FullTurn: true}
	assert.Equal(t, gear.Heading{FullTurn: true}, places(t, r)["point"].Heading, "how far the wheels turn is not known")
	r.Stuck.FullTurn = angle(34)
	h := places(t, r)["point"].Heading
	assert.True(t, h.FullTurn)
	assert.InDelta(t, 34, h.Angle.Degrees(), 1e-9)
}

func TestRemarks(t *testing.T) {
	t.Parallel()
	r := of(inLine("held point", gear.RecoveryPoint), inLine("mounting", gear.Mounting), cell, redirect(90, nil), bridle(130, true))
	assert.Equal(t, []string{
		"The bridle at Otter opens to 130°. Published tables end at 120°.",
		"What the sheaves take is not recorded: the shares are without loss, and gear on the winch's side of a sheave carried more than that.",
		"What holds left point is not in the rig: its mounting is not judged, and a point is only as strong as what holds it.",
		"What holds right point is not in the rig: its mounting is not judged, and a point is only as strong as what holds it.",
		"Shares are static: the gear's own mass and stretch are neglected.",
	}, r.Remarks())
	assert.Len(t, of(cell, bridle(120, true)).Remarks(), 3, "120° itself is within the tables")
}

// On a table the forces at a straight block cancel; the program must not turn
// the rounding of a cosine into a negative load.
func TestStraightBlockIsNotNegative(t *testing.T) {
	t.Parallel()
	p := places(t, of(cell, redirect(180, nil)))
	assert.GreaterOrEqual(t, p["block"].Share.Factor, 0.0)
	assert.False(t, math.IsNaN(p["block"].Share.Factor))
}
