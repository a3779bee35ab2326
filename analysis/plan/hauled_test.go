package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/plan"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// tackled is a tackle of so many parts, whose sheaves take a loss.
func tackled(parts int, loss *float64) rig.Link {
	t := &rig.Tackle{Parts: parts, Loss: loss, Fall: []rig.Use{use("winch", gear.Winch)}}
	for range parts - 1 {
		t.Sheaves = append(t.Sheaves, []rig.Use{use("block", gear.Block)})
	}
	return rig.Link{Tackle: t}
}

func TestLineOfARig(t *testing.T) {
	t.Parallel()
	redirect := func(loss *float64) rig.Link {
		return rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(60), Loss: loss, Block: []rig.Use{use("block", gear.Block)}}}
	}
	shackle := inLine(use("shackle", gear.BowShackle))
	assert.Equal(t, steady.Line{Parts: 1}, plan.LineOf(of(shackle)))
	assert.Equal(t, steady.Line{Parts: 3, Sheaves: 2, Loss: number(0.1)}, plan.LineOf(of(tackled(3, number(0.1)), shackle)))
	both := plan.LineOf(of(redirect(number(0.07)), tackled(2, number(0.07))))
	assert.Equal(t, steady.Line{Parts: 2, Sheaves: 2, Loss: number(0.07), Redirects: []unit.Angle{unit.Degrees(60)}}, both)
	assert.Nil(t, plan.LineOf(of(redirect(nil), tackled(2, number(0.07)))).Loss, "one is not known")
	assert.Nil(t, plan.LineOf(of(redirect(number(0.1)), tackled(2, number(0.07)))).Loss, "they differ")
	two := of(tackled(2, nil), shackle, tackled(3, nil))
	assert.Equal(t, 2, plan.LineOf(two).Parts)
	two.WinchAt = rig.StuckEnd
	assert.Equal(t, 3, plan.LineOf(two).Parts)
}

// What the rig says that the vehicle is pulled with, for the pull in the hauled
// part that overcomes a resistance, is that resistance: calc/steady and
// calc/rig lay the same line.
func TestTheHauledPartAgreesWithTheShares(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.Float64Range(0, 0.3).Draw(t, "loss")
		r := of(tackled(rapid.IntRange(2, 6).Draw(t, "parts"), &loss), inLine(use("shackle", gear.BowShackle)))
		resistance := unit.Force(rapid.Float64Range(1e3, 1e5).Draw(t, "resistance"))
		o, err := plan.Pull{Rig: r, Force: rating.Peak{Value: plan.LineOf(r).Pull(resistance)}}.Outlook()
		require.NoError(t, err)
		shackle, ok := o.Result.At("2")
		require.True(t, ok)
		assert.InEpsilon(t, float64(resistance), float64(shackle.Carried), 1e-12)
	})
}
