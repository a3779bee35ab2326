package rating_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// plannedAt judges a planned pull of the line as it is hauled.
func plannedAt(t require.TestingT, p rating.Peak, r rig.Rig) rating.Result {
	res, err := rating.JudgePlanned(p, r, "", unit.Kilonewton)
	require.NoError(t, err)
	return res
}

func TestAPlannedPullIsJudgedAtItsUpperEnd(t *testing.T) {
	t.Parallel()
	r := of(gearOf("shackle", gear.BowShackle, wll(30000)), gearOf("strap", gear.RecoveryStrap, wll(40000)))
	res := plannedAt(t, rating.Peak{Value: 20000, Low: 20000, High: 35000}, r)
	assert.Equal(t, rating.Inside, res.Verdict)
	assert.Equal(t, rating.Over, res.AtHigh)
	it := item(t, res, "shackle")
	assert.Equal(t, "It would carry 20 kN, 67 % of its 30 kN WLL. At the upper end it would carry 35 kN, 117 % of its limit, and be over rating.", it.Reason)
	assert.Equal(t, "It would carry 20 kN, 50 % of its 40 kN WLL. At the upper end it would carry 35 kN, 88 % of its limit.", item(t, res, "strap").Reason)
	assert.Equal(t, "At 35 kN on the line, shackle would be over rating. Of 3 items: 1 over rating, 2 inside rating. "+
		"Nearest to its limit, or furthest over: shackle, 117 % of its WLL. At the likely 20 kN: of 3 items: 3 inside rating.", res.Summary)
	nearest, ok := res.Nearest()
	assert.True(t, ok)
	assert.Equal(t, "shackle", nearest.Name)
}

// What is worst at the planning peak comes first, though something else is
// worse in the middle.
func TestPlannedItemsComeInTheOrderOfTheUpperEnd(t *testing.T) {
	t.Parallel()
	r := of(gearOf("unknown", gear.Ring), gearOf("breaks", gear.Ring, wll(30000), gear.Rating{Value: 34000, Basis: gear.MBS}))
	p := rating.Peak{Value: 20000, Low: 20000, High: 35000}
	assert.Equal(t, "breaks", plannedAt(t, p, r).Items[0].Name)
	assert.Equal(t, "unknown", judge(t, p, r).Items[0].Name)
}

// A bridle without an equaliser is judged with the line's force in one leg,
// wherever the cell hangs.
func TestAPlannedBridleKnowsItsLegs(t *testing.T) {
	t.Parallel()
	res := plannedAt(t, rating.Peak{Value: 10000}, bridled(60, false, gear.Rating{Value: 8000, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(45))}))
	it := item(t, res, "left point")
	assert.Equal(t, rating.Over, it.Verdict)
	assert.Len(t, it.Cases, 2)
	assert.Equal(t, "Over rating if the bridle does not equalise: it would carry 10 kN, 125 % of its 8 kN WLL. "+
		"If the legs share, it would be inside rating: it would carry 5.77 kN, 72 % of its 8 kN WLL.", it.Reason)
	assert.Contains(t, res.Summary, "left point would be over rating if the bridle does not equalise")
	assert.NotContains(t, res.Remarks, "No interval of the true peak is known: it is taken as read.")
	_, err := rating.JudgePlanned(rating.Peak{}, rig.Rig{}, "", "")
	assert.ErrorIs(t, err, rig.ErrRig)
}

// TestUpperEndOfANumberThatIsNoWorkingLimit: the share is told of the number
// that it is of.
func TestUpperEndOfANumberThatIsNoWorkingLimit(t *testing.T) {
	t.Parallel()
	r := of(gearOf("ring", gear.Ring, gear.Rating{Value: 40000, Basis: gear.MBS}))
	res := plannedAt(t, rating.Peak{Value: 20000, Low: 20000, High: 35000}, r)
	assert.Contains(t, item(t, res, "ring").Reason, "At the upper end it would carry 35 kN, 88 % of its MBS.")
}
