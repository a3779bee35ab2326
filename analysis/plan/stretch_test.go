package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/plan"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// The pulls were made with a stiffness of 6 MBS over the length, which is a
// stretch of a sixth at the breaking strength: a plan that is told nothing of
// the stretch takes it from them, and says so.
func TestStretchFromTheSet(t *testing.T) {
	t.Parallel()
	set := kept(logged(1, 30, 6, true))
	k := plan.Kinetic{
		Plan: kinetic.Plan{Speed: 2.5, Fixed: true}, Ground: "mud", With: set,
		Rig: &rig.Rig{
			Pulling: gear.Vehicle{Name: "Heron", Weighed: mass(2800)}, Stuck: gear.Vehicle{Name: "Otter", Weighed: mass(2800)},
			Chain: []rig.Link{{Use: new(rope(45e3))}},
		},
	}
	f, err := k.Forecast()
	require.NoError(t, err)
	s := f.Kinetic.Plan.Strap
	assert.InEpsilon(t, 1./6, s.Elongation, 0.1, "30 pulls with a scatter of 12 %")
	assert.Equal(t, 1/set.Fit.Speed.Straps[0].Value, s.Elongation)
	closed, err := kinetic.Closed(kinetic.Pull{Puller: 2800, Stuck: 2800, Speed: 2.5, Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(kinetic.Secant(90e3, s.Elongation, 9))}})
	require.NoError(t, err)
	assert.InEpsilon(t, float64(closed.Peak), float64(f.Outcome.Peak), 1e-9)
	assert.Contains(t, f.Notes, "The strap counts as stretching by "+noted(t, k)+": "+kinetic.Secant(90e3, s.Elongation, 9).String()+".")

	own := k
	own.Plan.Strap.Elongation = 0.3
	f, err = own.Forecast()
	require.NoError(t, err)
	assert.Equal(t, 0.3, f.Kinetic.Plan.Strap.Elongation, "what is told goes first")

	stiffness := unit.Stiffness(60e3)
	rated := rope(45e3)
	rated.Item.Stiffness = &stiffness
	registered := k
	registered.Rig = &rig.Rig{Pulling: k.Rig.Pulling, Stuck: k.Rig.Stuck, Chain: []rig.Link{{Use: &rated}}}
	f, err = registered.Forecast()
	require.NoError(t, err)
	assert.Equal(t, stiffness, f.Kinetic.Plan.Strap.Stiffness, "then the register")

	unlike := k
	unlike.Strap = "tow strap"
	_, err = unlike.Forecast()
	assert.ErrorIs(t, err, plan.ErrMissing, "of another strap the pulls say nothing")
	bare := k
	bare.Rig = &rig.Rig{Pulling: k.Rig.Pulling, Stuck: k.Rig.Stuck, Chain: []rig.Link{{Use: new(use("red rope", gear.KineticRope, wll(45e3)))}}}
	_, err = bare.Forecast()
	assert.ErrorIs(t, err, plan.ErrMissing, "a share of an unknown length")
}

// noted is what is said of the known stretch.
func noted(t *testing.T, k plan.Kinetic) string {
	t.Helper()
	known, ok := k.KnownStretch()
	require.True(t, ok)
	assert.Regexp(t, `^1\d\.?\d* % at its breaking strength, by 30 pulls with kinetic rope \(river bar, version 3\)$`, known.String())
	return known.String()
}
