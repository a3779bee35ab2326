package rig_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// drawn is a rig with what is needed to draw its forces.
type drawn struct {
	rig                rig.Rig
	left, bend, right  float64 // included angles in degrees
	parts              int
	redirectLoss, loss *float64
}

// draw makes a rig with a bridle at each end, a redirect and a tackle, and
// the cell anywhere in it.
func draw(t *rapid.T) drawn {
	angle := func(name string, to float64) float64 { return rapid.Float64Range(0, to).Draw(t, name) }
	loss := func(name string) *float64 {
		if !rapid.Bool().Draw(t, name+" known") {
			return nil
		}
		v := rapid.Float64Range(0, 0.5).Draw(t, name)
		return &v
	}
	d := drawn{left: angle("left", 170), bend: angle("bend", 180), right: angle("right", 170),
		parts: rapid.IntRange(2, 6).Draw(t, "parts"), redirectLoss: loss("redirect loss"), loss: loss("tackle loss")}
	bridle := func(name string, deg float64) rig.Link {
		return rig.Link{Bridle: &rig.Bridle{Included: unit.Degrees(deg), Equaliser: true,
			Left: []rig.Use{item(name+" left", gear.Ring)}, Right: []rig.Use{item(name+" right", gear.Ring)}}}
	}
	d.rig = of(bridle("first", d.left), inLine("one", gear.Ring), redirect(d.bend, d.redirectLoss), inLine("two", gear.Ring),
		tackle(d.parts, d.loss), inLine("three", gear.Ring), bridle("last", d.right))
	if rapid.Bool().Draw(t, "winch at the stuck end") {
		d.rig.WinchAt = rig.StuckEnd
	}
	d.placeCell(t)
	return d
}

// placeCell turns one item of the rig into the cell, but not the block: at
// 180° it carries nothing and no share can be taken from it.
func (d drawn) placeCell(t *rapid.T) {
	c := d.rig.Chain
	lists := [][]rig.Use{c[0].Bridle.Left, c[0].Bridle.Right, c[4].Tackle.Fall, c[4].Tackle.Dead, c[6].Bridle.Left}
	lists = append(lists, c[4].Tackle.Sheaves...)
	single := []*rig.Use{c[1].Use, c[3].Use, c[5].Use}
	for _, l := range lists {
		single = append(single, &l[0])
	}
	single[rapid.IntRange(0, len(single)-1).Draw(t, "cell")].Item.Kind = gear.LoadCell
}

// vector is a force of this size at an angle in degrees.
func vector(size, deg float64) complex128 {
	return complex(size*math.Cos(deg*math.Pi/180), size*math.Sin(deg*math.Pi/180))
}

func balanced(t *rapid.T, node string, scale float64, forces ...complex128) {
	var sum complex128
	for _, f := range forces {
		sum += f
	}
	assert.InDelta(t, 0, real(sum)/scale, 1e-9, "%s, along", node)
	assert.InDelta(t, 0, imag(sum)/scale, 1e-9, "%s, across", node)
}

// Shares balance: at every node of the rig the forces, drawn as vectors from
// the geometry and the shares alone, add up to nothing.
func TestForcesBalanceAtEveryNode(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		p := places(t, d.rig)
		f := func(name string) float64 { return p[name].Share.Factor }
		scale := f("one") + f("two") + f("three")

		balanced(t, "first bridle", scale, vector(f("one"), 0),
			vector(f("first left"), 180-d.left/2), vector(f("first right"), 180+d.left/2))
		balanced(t, "last bridle", scale, vector(f("three"), 180),
			vector(f("last left"), d.right/2), vector(f("last right"), -d.right/2))
		lines := vector(f("one"), 0) + vector(f("two"), d.bend)
		assert.InDelta(t, math.Hypot(real(lines), imag(lines))/scale, f("block")/scale, 1e-9, "the block holds both lines")
		tackleBalances(t, d, f, scale)
	})
}

// tackleBalances adds up the parts at the two sides of the tackle and at each
// sheave.
func tackleBalances(t *rapid.T, d drawn, f func(string) float64, scale float64) {
	e := 1.0
	if d.loss != nil {
		e = 1 - *d.loss
	}
	near, far, part := f("winch"), 0.0, f("winch")
	for i := 1; i < d.parts; i++ {
		next := part * e
		held := f("sheave " + strconv.Itoa(i))
		assert.InDelta(t, (part+next)/scale, held/scale, 1e-9, "a sheave holds the parts on both sides of it")
		if i%2 == 1 {
			far += held
		} else {
			near += held
		}
		part = next
	}
	assert.InDelta(t, part/scale, f("dead")/scale, 1e-9, "the dead end holds the last part")
	if d.parts%2 == 0 {
		near += part
	} else {
		far += part
	}
	assert.InDelta(t, f("two")/scale, near/scale, 1e-9, "the near side holds the line")
	assert.InDelta(t, f("three")/scale, far/scale, 1e-9, "and so does the far side")
}

// Where the cell sits changes the reading, not the forces: shares from two
// places differ by one common factor.
func TestSharesDoNotDependOnWhereTheCellSits(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		var names []string
		first := places(t, d.rig)
		for name := range first {
			names = append(names, name)
		}
		d.moveCell(t)
		second := places(t, d.rig)
		ratio := second["one"].Share.Factor / first["one"].Share.Factor
		for _, name := range names {
			if f := first[name].Share.Factor; f > 1e-6 {
				assert.InEpsilon(t, ratio, second[name].Share.Factor/f, 1e-9, name)
			}
		}
	})
}

// moveCell puts the cell somewhere else.
func (d drawn) moveCell(t *rapid.T) {
	c := d.rig.Chain
	uses := []*rig.Use{c[1].Use, c[3].Use, c[5].Use, &c[0].Bridle.Left[0], &c[0].Bridle.Right[0], &c[6].Bridle.Left[0],
		&c[4].Tackle.Fall[0], &c[4].Tackle.Dead[0]}
	for _, s := range c[4].Tackle.Sheaves {
		uses = append(uses, &s[0])
	}
	for _, u := range uses {
		u.Item.Kind = gear.Ring
	}
	d.placeCell(t)
}
