package web_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/store"

	"tautlog/calc/rig"
)

// TestAPlanTellsItsBridles: a leg of a bridle carries 1/(2·cos(a/2)) of the line,
// which by hand is half of it with the legs side by side, 0.577 at 60° and all
// of it at 120°. A plan that is kept tells the same.
func TestAPlanTellsItsBridles(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	g := twoCells(t)
	_, err := f.store.SaveRig(t.Context(), store.Document[rig.Rig]{Value: g})
	require.NoError(t, err)
	q := form("rig", g.Name, "force", "52 kN", "kind", "steady")
	_, said := f.plan(t, "force", q)
	told := []string{"The bridle at " + g.Stuck.Name, "0° 26 kN, 0.50 times the line", "60°, as in the rig 30 kN, 0.58 times the line", "120° 52 kN, 1.00 times the line"}
	for _, say := range told {
		says(t, said, say)
	}
	res := f.post(t, "/plan/force/keep", form("name", "bridle", "inputs", q.Encode()))
	require.Equal(t, 303, res.StatusCode, read(t, res))
	kept := f.said(t, res.Header.Get("Location"))
	for _, say := range told {
		says(t, kept, say)
	}
	_, said = f.plan(t, "force", form("rig", "single strap", "force", "52 kN"))
	assert.NotContains(t, said, "The bridle at")
	_, said = f.plan(t, "kinetic", form("rig", g.Name, "puller-mass", "2.8 t", "stuck-mass", "2.8 t", "speed", "8 km/h", "stiffness", "60 kN/m"))
	says(t, said, "The bridle at "+g.Stuck.Name)
	_, said = f.plan(t, "steady", form("rig", g.Name, "stuck-mass", "2.8 t", "mire", "wheel"))
	says(t, said, "The bridle at "+g.Stuck.Name)
}

// TestAPlanTellsWhatFollowsThePeak: ½·2800 kg·(8 km/h)² are 6.91 kJ, of which a
// strap that keeps a quarter gives back 5.19; the peaks that follow are those of
// the model.
func TestAPlanTellsWhatFollowsThePeak(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	q := form("puller-mass", "2.8 t", "stuck-mass", "2.8 t", "speed", "8 km/h", "stiffness", "60 kN/m")
	_, said := f.plan(t, "kinetic", q)
	assert.NotContains(t, said, "Gives back")
	q.Set("loss", "25%")
	_, said = f.plan(t, "kinetic", q)
	says(t, said, "Gives back 5.19 kJ of the 6.91 kJ that are in the line at the peak of the model")
	q.Set("drive", "8 kN")
	_, said = f.plan(t, "kinetic", q)
	p := kinetic.Plan{Puller: 2800, Stuck: 2800, Speed: unit.Speed(8 / 3.6), Strap: kinetic.Strap{Stiffness: 60_000, Loss: 0.25}, Drive: 8000, Fixed: true, Attempts: 1}
	o, err := p.Calculate()
	require.NoError(t, err)
	require.NotEmpty(t, o.Rebounds)
	says(t, said, "Rebounds "+o.Rebounds[0].Force.Show(unit.DefaultShown, 0)+" at ")
}

// TestARunUpThroughSlackFromStandstill: 12 kN along 2 m make of 2800 kg at rest
// √(2·12000·2/2800) = 4.14 m/s, which is 14.9 km/h.
func TestARunUpThroughSlackFromStandstill(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	require.InDelta(t, 14.9, 3.6*math.Sqrt(2*12000*2/2800.), 0.05)
	q := form("rig", "single strap", "slack", "2 m", "drive", "12 kN", "length", "9 m", "elongation", "20%")
	page, said := f.plan(t, "kinetic", q)
	says(t, said, "Heron pulls Otter from standstill")
	says(t, said, "at 14.9 km/h when the line comes taut")
	assert.NotContains(t, page, `aria-invalid`)
	q.Del("drive")
	page, _ = f.plan(t, "kinetic", q)
	assert.Contains(t, page, `aria-describedby="speed-say" aria-invalid="true"`, "nothing moves it")
}

// TestTheCommaOfACurve: a page has no flags, and says of a decimal comma what to
// do on it.
func TestTheCommaOfACurve(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	of := func(curve string) string {
		_, said := f.plan(t, "kinetic", form("puller-mass", "3 t", "stuck-mass", "3 t", "speed", "8 km/h", "curve", curve))
		return said
	}
	said := of("stretch_m,force_kN\n\"0,5\",\"12\"\n")
	says(t, said, "Line 2: a number has a comma in it. Write a decimal point, or put semicolons between the columns.")
	assert.NotContains(t, said, "--")
	assert.NotContains(t, of("stretch_m;force_kN\n0,5;12\n"), "has a comma")
}
