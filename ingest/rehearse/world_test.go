package rehearse_test

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/rehearse"
)

func rigByID(t *testing.T, w rehearse.World, id string) rig.Rig {
	i := slices.IndexFunc(w.Rigs, func(r rig.Rig) bool { return r.ID == id })
	require.GreaterOrEqual(t, i, 0, id)
	return w.Rigs[i]
}

func TestWorldIsWellFormed(t *testing.T) {
	t.Parallel()
	w := rehearse.NewWorld()
	assert.Contains(t, w.Notice, "made up")
	ids := map[string]bool{}
	once := func(id string) {
		require.NotEmpty(t, id)
		require.False(t, ids[id], id)
		ids[id] = true
	}
	for _, v := range w.Vehicles {
		once(v.ID)
		assert.Empty(t, v.Check(), v.Name)
	}
	for _, it := range w.Items {
		once(it.ID)
		assert.Empty(t, it.Check(), it.Name)
		assert.Empty(t, it.Maker, "nothing here has a maker")
	}
	for _, r := range w.Rigs {
		once(r.ID)
		require.NoError(t, r.Validate(), r.Name)
		var b bytes.Buffer
		require.NoError(t, rig.Encode(&b, r))
		again, err := rig.Decode(&b)
		require.NoError(t, err, r.Name)
		assert.Equal(t, r, again)
		places, err := r.Places()
		require.NoError(t, err)
		for _, p := range places {
			assert.True(t, ids[p.Use.Item.ID], "%s in %s is not in the register", p.Use.Item.Name, r.Name)
		}
	}
	for _, b := range w.Benches {
		require.NoError(t, b.Cell.Validate())
		assert.Contains(t, w.Grounds, b.Ground)
		rigByID(t, w, b.Rig)
	}
}

// The first pull comes soon and is kinetic; the others follow without
// crowding, one after the other over both cells, since one truck makes them all,
// and the forces stay within the cells.
func TestWorldsPullsComeInOrder(t *testing.T) {
	t.Parallel()
	w := rehearse.NewWorld()
	type stretch struct {
		name     string
		from, to float64
	}
	var all []stretch
	for _, b := range w.Benches {
		for n := range 40 {
			p, more := b.Script(n)
			require.True(t, more)
			again, _ := b.Script(n)
			assert.Equal(t, p.Shape, again.Shape, "the script gives the same answer every time")
			assert.Equal(t, "heron", rigByID(t, w, p.Rig).Pulling.ID)
			track, err := p.Shape.Render(random())
			require.NoError(t, err)
			peak, _ := track.Peak()
			assert.Less(t, peak, b.Cell.Capacity)
			assert.Greater(t, peak, b.Cell.Capacity/10)
			all = append(all, stretch{p.Name, p.At.Seconds(), p.At.Seconds() + track.Length()})
		}
	}
	slices.SortFunc(all, func(x, y stretch) int { return cmp.Compare(x.from, y.from) })
	for i, p := range all[1:40] { // later on one cell has no more of its 40
		assert.Greater(t, p.from, all[i].to+4, "%s leaves time to see the one before", p.name)
		assert.Less(t, p.from, all[i].to+25, p.name)
	}
	first, _ := w.Benches[0].Script(0)
	assert.Equal(t, 6*time.Second, first.At)
	assert.IsType(t, rehearse.Kinetic{}, first.Shape)
}

// TestSpeedsFitTheForces: what the line took from Heron up to the peak is about
// the speed that people wrote down (kinetic.SpeedLost), as far as analysis/shock
// asks: a quarter.
func TestSpeedsFitTheForces(t *testing.T) {
	t.Parallel()
	w := rehearse.NewWorld()
	for _, d := range w.Past {
		end := time.Duration(0)
		for n, p := range d.Pulls {
			track, err := p.Shape.Render(random())
			require.NoError(t, err)
			_, at := track.Peak()
			const step = 1e-3
			impulse := 0.0
			for s := 0.0; s < at; s += step {
				impulse += track.Force(s) * step
			}
			said, lost := float64(p.Speed), float64(kinetic.SpeedLost(impulse, *rigByID(t, w, p.Rig).Pulling.Weighed))
			assert.InEpsilon(t, said, lost, 0.22, "%s, pull %d, %s: %.1f km/h said", d.Name, n+1, p.Name, 3.6*said)
			assert.Less(t, track.Length()+p.At.Seconds(), rehearse.PastLasts.Seconds())
			if n > 0 {
				assert.Greater(t, p.On-end, 10*time.Minute, "time to rig anew")
			}
			end = p.On + rehearse.PastLasts
		}
		assert.Less(t, end, 24*time.Hour)
	}
}

// The world shows every verdict but the worst, on unlike bases.
func TestWorldHasSomethingToShow(t *testing.T) {
	t.Parallel()
	w := rehearse.NewWorld()
	seen := map[rating.Verdict]bool{}
	for _, b := range w.Benches {
		for n := range 8 {
			p, _ := b.Script(n)
			track, err := p.Shape.Render(random())
			require.NoError(t, err)
			peak, _ := track.Peak()
			kind := pull.Steady
			if _, ok := p.Shape.(rehearse.Kinetic); ok {
				kind = pull.Kinetic
			}
			r, err := rating.Judge(rating.Peak{Value: peak, Low: peak, High: peak, Kind: kind}, rigByID(t, w, p.Rig), unit.Kilonewton)
			require.NoError(t, err)
			for _, it := range r.Items {
				seen[it.Verdict] = true
			}
		}
	}
	r, err := rating.Judge(rating.Peak{Value: 10e3}, rigByID(t, w, "rig-found"), unit.Kilonewton)
	require.NoError(t, err)
	weakest, _ := r.Weakest()
	assert.Equal(t, rating.NotRated, weakest.Verdict)
	assert.Equal(t, gear.TieDown, weakest.Kind)
	for _, v := range []rating.Verdict{rating.Inside, rating.Over, rating.NotJudged} {
		assert.True(t, seen[v], v)
	}
}

// What the generator plays on a bench is the peak of the pull's physics as
// far as the cell's noise and converter let one see it.
func TestBenchReadingsReachThePhysicalPeak(t *testing.T) {
	t.Parallel()
	b := rehearse.NewWorld().Benches[0]
	p, _ := b.Script(0)
	track, err := p.Shape.Render(random())
	require.NoError(t, err)
	want, at := track.Peak()
	largest, when := math.Inf(-1), 0.0
	for _, s := range samples(t, b.Cell, b.Script, 1, 9000) {
		if f := float64(b.Cell.Curve.Force(float64(s.Raw))); f > largest {
			largest, when = f, float64(s.N)/b.Cell.Rate
		}
	}
	assert.InDelta(t, float64(want)+60, largest, 5*20, "zero error 60 N, noise 20 N")
	assert.InDelta(t, 6+at, when, 0.03)
}

// The register shows on every day something overdue, something to watch, in
// quarantine and retired, all of it well formed.
func TestTheRegisterHasSomethingToLookAt(t *testing.T) {
	t.Parallel()
	for _, day := range []time.Time{time.Date(2026, 2, 28, 9, 0, 0, 0, time.UTC), time.Date(2028, 12, 31, 23, 0, 0, 0, time.UTC)} {
		today := gear.Date(day.Format(time.DateOnly))
		var overdue, quarantined, retired int
		ids := map[string]bool{}
		for _, it := range rehearse.NewWorld().ItemsOn(day) {
			assert.Empty(t, it.Check(), it.ID)
			assert.False(t, ids[it.ID], it.ID)
			ids[it.ID] = true
			if it.Due(today).Overdue {
				overdue++
			}
			if it.Quarantined != nil {
				quarantined++
			}
			if it.Retired != nil {
				retired++
			}
		}
		assert.Equal(t, []int{1, 1, 1}, []int{overdue, quarantined, retired})
	}
}
