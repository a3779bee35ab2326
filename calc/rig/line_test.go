package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// linePlaces gives the places by name, in relation to the line.
func linePlaces(t require.TestingT, r rig.Rig, at string) map[string]rig.Place {
	ps, err := r.LinePlaces(at)
	require.NoError(t, err)
	byName := map[string]rig.Place{}
	for _, p := range ps {
		byName[p.Use.Item.Name] = p
	}
	return byName
}

func TestLineSharesNeedNoCell(t *testing.T) {
	t.Parallel()
	r := of(inLine("strap", gear.RecoveryStrap), bridle(60, false))
	assert.Error(t, r.Validate())
	ps := linePlaces(t, r, "")
	assert.Equal(t, 1.0, ps["strap"].Share.Factor)
	assert.Equal(t, "the line here carries F", ps["strap"].Share.Sentence)
	assert.InDelta(t, 0.57735, ps["left point"].Share.Factor, 1e-5, "1/(2 cos 30°)")
	assert.Equal(t, 1.0, *ps["left point"].Share.Alone)
	s, ok := r.Stretching()
	assert.True(t, ok)
	assert.Equal(t, "1", s.Ref)
	_, ok = of(cell).Stretching()
	assert.False(t, ok)
	_, err := of().LinePlaces("")
	assert.ErrorIs(t, err, rig.ErrRig)
	assert.Panics(t, func() { _, _ = r.LinePlaces("9") })
}

// Where the line's force is known, what a cell in a leg reads no longer
// decides what the other leg carries.
func TestACellInALegLeavesTheLegsBounded(t *testing.T) {
	t.Parallel()
	b := bridle(60, false)
	b.Bridle.Left = append([]rig.Use{item("cell", gear.LoadCell)}, b.Bridle.Left...)
	r := of(inLine("strap", gear.RecoveryStrap), b)
	assert.True(t, places(t, r)["right point"].Share.Unbounded)
	right := linePlaces(t, r, "")["right point"].Share
	assert.False(t, right.Unbounded)
	assert.Equal(t, 1.0, *right.Alone)
}

// The hauled part: with two parts and a loss of 10 % at the sheave the parts
// carry F and 0.9 F, so the vehicle is pulled with 1.9 F; by hand.
func TestTheHauledPartIsTheLine(t *testing.T) {
	t.Parallel()
	loss := 0.1
	tackle := rig.Link{Tackle: &rig.Tackle{Parts: 2, Loss: &loss,
		Fall:    []rig.Use{item("winch", gear.Winch)},
		Sheaves: [][]rig.Use{{item("block", gear.Block)}}, Dead: []rig.Use{item("dead", gear.RecoveryPoint)}}}
	for _, side := range []rig.Side{rig.PullingEnd, rig.StuckEnd} {
		r := of(tackle, inLine("shackle", gear.BowShackle), cell)
		r.WinchAt = side
		ps := linePlaces(t, r, "")
		assert.InDelta(t, 1, ps["winch"].Share.Factor, 1e-12)
		assert.InDelta(t, 1.9, ps["block"].Share.Factor, 1e-12)
		assert.InDelta(t, 0.9, ps["dead"].Share.Factor, 1e-12)
		assert.InDelta(t, 1.9, ps["shackle"].Share.Factor, 1e-12)
	}
}

// Wherever the cell hangs, the ratio of two loads is the same as in the line's
// terms.
func TestLineSharesAgreeWithTheCells(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.Float64Range(0, 0.3).Draw(t, "loss")
		links := []rig.Link{inLine("rope", gear.WinchRope), redirect(rapid.Float64Range(0, 170).Draw(t, "bend"), &loss),
			inLine("strap", gear.RecoveryStrap), bridle(rapid.Float64Range(0, 150).Draw(t, "legs"), true)}
		at := rapid.IntRange(0, 3).Draw(t, "cell")
		r := of(append(append(append([]rig.Link{}, links[:at]...), cell), links[at:]...)...)
		r.WinchAt = rapid.SampledFrom([]rig.Side{"", rig.PullingEnd, rig.StuckEnd}).Draw(t, "winch at")
		byCell := places(t, r)
		for _, ref := range []string{"", byCell["strap"].Ref} {
			byLine := linePlaces(t, r, ref)
			scale := byLine["cell"].Share.Factor
			for name, p := range byCell {
				assert.InEpsilon(t, p.Share.Factor*scale, byLine[name].Share.Factor, 1e-12, name)
			}
			if ref != "" {
				assert.Equal(t, 1.0, byLine["strap"].Share.Factor)
			}
		}
	})
}
