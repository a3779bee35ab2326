package plan_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

func wll(newtons float64) gear.Rating {
	return gear.Rating{Value: unit.Force(newtons), Basis: gear.WLL}
}

func use(name string, k gear.Kind, ratings ...gear.Rating) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k, Ratings: ratings}}
}

func inLine(u rig.Use) rig.Link { return rig.Link{Use: &u} }

func of(links ...rig.Link) rig.Rig {
	return rig.Rig{Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: links}
}

// bridle is two shackles on a strap that opens to an angle.
func bridle(degrees, limit float64, equaliser bool) rig.Link {
	return rig.Link{Bridle: &rig.Bridle{
		Included: unit.Degrees(degrees), Equaliser: equaliser,
		Left: []rig.Use{use("left shackle", gear.BowShackle, wll(limit))}, Right: []rig.Use{use("right shackle", gear.BowShackle, wll(limit))},
	}}
}

func largest(t require.TestingT, r rig.Rig) plan.Largest {
	l, err := plan.LargestPull(r, "", pull.Kinetic, unit.Kilonewton)
	require.NoError(t, err)
	return l
}

// Two legs of a sling lift twice what each keeps of its capacity at the angle
// (the chart's head). The angle of the chart is that of a leg to the
// horizontal: the legs include 180° less twice that.
func TestLargestPullByAPrintedSlingChart(t *testing.T) {
	t.Parallel()
	for _, row := range slingChart(t) {
		l := largest(t, of(bridle(180-2*row[0], 10000, true)))
		require.True(t, l.AllInside())
		assert.InDelta(t, 2*10000*row[1], float64(l.Force), 2*10000*0.001, "%v°: to the printed digits, which the chart rounds or cuts", row[0])
	}
}

func slingChart(t *testing.T) (out [][2]float64) {
	rows := needs.Table(t, "../../calc/rig/testdata/sling_angle_factors.csv")
	for _, row := range rows[1:] {
		a, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		fraction, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		out = append(out, [2]float64{a, fraction})
	}
	require.NotEmpty(t, out)
	return out
}

// By hand: the left shackle takes the whole line where the bridle does not
// share, and the ring on the line has a breaking strength and no more.
func TestLargestPullNamesWhatItLeavesOut(t *testing.T) {
	t.Parallel()
	strap := use("strap", gear.RecoveryStrap, gear.Rating{Value: 80000, Basis: gear.MBS, DesignFactor: number(2)})
	l := largest(t, of(inLine(use("mounting", gear.Mounting)), inLine(strap), bridle(60, 30000, false)))
	assert.EqualValues(t, 30000, l.Force)
	assert.Equal(t, "left shackle", l.First.Name)
	assert.Equal(t, "if this leg took all", l.When)
	assert.False(t, l.AllInside())
	assert.Equal(t, []string{
		"With more than 30 kN on the line, left shackle is over its limit first if this leg took all: 30 kN, WLL.",
		"Left out, because no limit of any kind is known: mounting.",
	}, l.Text(unit.Kilonewton))

	l = largest(t, of(inLine(use("ring", gear.Ring, gear.Rating{Value: 9000, Basis: gear.MBS})), inLine(strap), inLine(use("eye", gear.TowEye, wll(1000)))))
	assert.EqualValues(t, 9000, l.Force, "not above a breaking strength, though there is no working limit")
	assert.Equal(t, "No force keeps every item inside its rating: eye is not rated for this use, at any force.", l.Text(unit.Kilonewton)[0])
	assert.Equal(t, "No working limit for this use is known of ring. Another number that is known is kept to in its place, such as a breaking strength or what is stamped.",
		l.Text(unit.Kilonewton)[2], "the first at its limit is not told as left out")

	l = largest(t, of(inLine(use("ring", gear.Ring))))
	assert.False(t, l.Limited())
	assert.Equal(t, "No limit of any item is known: at what force the first one is reached cannot be told.", l.Text(unit.Kilonewton)[0])
	_, err := plan.LargestPull(rig.Rig{}, "", "", "")
	assert.ErrorIs(t, err, rig.ErrRig)
}

func number(v float64) *float64 { return &v }

// anyRig draws a rig in which every item has a working limit.
func anyRig(t *rapid.T) rig.Rig {
	limit := func(name string) float64 { return rapid.Float64Range(1000, 200000).Draw(t, name) }
	loss := rapid.Float64Range(0, 0.3).Draw(t, "loss")
	r := of(
		inLine(use("strap", gear.RecoveryStrap, wll(limit("strap")))),
		rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(rapid.Float64Range(0, 170).Draw(t, "bend")), Loss: &loss,
			Block: []rig.Use{use("block", gear.Block, wll(limit("block")))}}},
		inLine(use("shackle", gear.BowShackle, wll(limit("shackle")))),
		bridle(rapid.Float64Range(0, 160).Draw(t, "legs"), limit("legs"), rapid.Bool().Draw(t, "equaliser")),
	)
	r.WinchAt = rapid.SampledFrom([]rig.Side{rig.PullingEnd, rig.StuckEnd}).Draw(t, "winch at")
	return r
}

// At the largest pull everything is inside its rating and the nearest item is
// used in full; with a little more something is over.
func TestLargestPullIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := anyRig(t)
		l := largest(t, r)
		require.True(t, l.AllInside())
		at := func(f unit.Force) plan.Outlook {
			o, err := plan.Pull{Rig: r, Force: rating.Peak{Value: f, Kind: pull.Kinetic}}.Outlook()
			require.NoError(t, err)
			return o
		}
		o := at(l.Force)
		assert.Equal(t, rating.Inside, o.Result.AtHigh)
		nearest, ok := o.Result.Nearest()
		require.True(t, ok)
		assert.InDelta(t, 1, *nearest.Utilisation, 1e-14)
		assert.Equal(t, l.Force, o.Largest.Force)
		assert.Equal(t, rating.Over, at(l.Force*(1+1e-12)).Result.AtHigh)
	})
}

// All limits times a number: so is the largest pull. The unit in which
// sentences are written changes no verdict and no number.
func TestLargestPullScalesAndKnowsNoUnit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := anyRig(t)
		times := rapid.Float64Range(0.01, 100).Draw(t, "times")
		force := unit.Force(rapid.Float64Range(0, 300000).Draw(t, "force"))
		p := plan.Pull{Rig: r, Force: rating.Peak{Value: force, High: force * 1.2, Kind: pull.Kinetic}, Unit: unit.Kilonewton}
		o, err := p.Outlook()
		require.NoError(t, err)
		p.Unit = unit.PoundF
		pounds, err := p.Outlook()
		require.NoError(t, err)
		assert.Equal(t, o.Largest.Force, pounds.Largest.Force)
		for i, it := range o.Result.Items {
			assert.Equal(t, it.Load, pounds.Result.Items[i].Load)
		}
		scaled := largest(t, scale(r, times))
		assert.InEpsilon(t, times*float64(o.Largest.Force), float64(scaled.Force), 1e-12)
		assert.Equal(t, o.Largest.First.Name, scaled.First.Name)
	})
}

// scale multiplies every rating of a rig.
func scale(r rig.Rig, times float64) rig.Rig {
	scaled := func(u rig.Use) rig.Use {
		u.Item.Ratings = []gear.Rating{wll(times * float64(u.Item.Ratings[0].Value))}
		return u
	}
	out := r
	out.Chain = nil
	for _, l := range r.Chain {
		switch {
		case l.Use != nil:
			l = inLine(scaled(*l.Use))
		case l.Redirect != nil:
			d := *l.Redirect
			d.Block = []rig.Use{scaled(d.Block[0])}
			l = rig.Link{Redirect: &d}
		default:
			b := *l.Bridle
			b.Left, b.Right = []rig.Use{scaled(b.Left[0])}, []rig.Use{scaled(b.Right[0])}
			l = rig.Link{Bridle: &b}
		}
		out.Chain = append(out.Chain, l)
	}
	return out
}

// A bridle's table: 0.5 with the legs side by side, 1 at 120°; by the force of
// the line at the bridle, behind a redirect that takes a tenth.
func TestForkTable(t *testing.T) {
	t.Parallel()
	loss := 0.1
	r := of(rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(60), Loss: &loss, Block: []rig.Use{use("block", gear.Block)}}}, bridle(50, 1000, false))
	o, err := plan.Pull{Rig: r, Force: rating.Peak{Value: 1000, High: 2000}}.Outlook()
	require.NoError(t, err)
	require.Len(t, o.Forks, 1)
	f := o.Forks[0]
	assert.Equal(t, "Otter", f.Vehicle)
	assert.InDelta(t, 0.9, f.Alone, 1e-12)
	var degrees []float64
	for _, l := range f.Legs {
		degrees = append(degrees, math.Round(l.Included.Degrees()))
	}
	assert.Equal(t, []float64{0, 30, 45, 50, 60, 90, 120}, degrees)
	assert.InDelta(t, 0.45, f.Legs[0].Share, 1e-12)
	assert.InDelta(t, 0.9, f.Legs[6].Share, 1e-12)
	assert.InDelta(t, 1800, float64(f.Legs[6].Force), 1e-9)
	r.Chain = []rig.Link{bridle(60, 1000, true), inLine(use("strap", gear.RecoveryStrap))}
	o, err = plan.Pull{Rig: r, Force: rating.Peak{Value: 1000}}.Outlook()
	require.NoError(t, err)
	assert.Equal(t, "Heron", o.Forks[0].Vehicle)
	assert.Len(t, o.Forks[0].Legs, 6, "60° is in the table already")
}
