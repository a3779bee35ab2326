package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
)

// TestSayWhatIsKnown writes down what only a person can know, changes it, and
// takes the change back.
func TestSayWhatIsKnown(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	edit := func(pairs ...string) *http.Response {
		p, err := f.store.Pull(t.Context(), f.pull.ID)
		require.NoError(t, err)
		v := form(append(pairs, "version", fmt.Sprint(p.Version), "kind", "kinetic", "ground", "wet sand")...)
		return f.post(t, one, v)
	}
	require.Equal(t, http.StatusSeeOther, edit("speed", "16.4 km/h", "slack", "2m", "depth", "wheel", "attempt", "2", "stuck-mass", "3.2 t").StatusCode)
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.InDelta(t, 16.4/3.6, float64(*p.Speed), 1e-12)
	assert.Equal(t, []any{unit.Length(2), "wheel", 2, unit.Mass(3200)}, []any{*p.Slack, p.Depth, p.Attempt, *p.StuckMass})
	assert.Nil(t, p.PullerMass)

	page := f.page(t, one)
	for _, field := range []string{`name="speed" value="16.4 km/h"`, `name="slack" value="2 m"`, `<option value="wheel" selected>`, `name="attempt" value="2"`, `name="stuck-mass" value="3200 kg"`} {
		assert.Contains(t, page, field)
	}
	says(t, f.said(t, one), "Puller’s mass that day Left empty, it counts as the rig says: 2.8 t, by GVM, not weighed.")
	says(t, f.said(t, one), "Before the last change: speed was not known; slack was not known; depth was not known; attempt was not known; the stuck vehicle’s mass was not known.")
	assert.NotContains(t, visible(page), "by the trace the puller lost", "12732 N·s stop 2800 kg from 16.4 km/h")

	require.Equal(t, http.StatusSeeOther, edit("speed", "16.4 km/h", "slack", "2 m", "depth", "wheel", "attempt", "2", "stuck-mass", "3200 kg", "stuck-within", "100 kg").StatusCode)
	said := f.said(t, one)
	says(t, said, "the weight of Otter, its mass that day 3.2 t, 31.4 kN. The mass counts in the interval with 3.1 t to 3.3 t.")
	says(t, said, "Before the last change: how far that mass may be off was not known.")
	require.Equal(t, http.StatusUnprocessableEntity, edit("stuck-within", "100 kg").StatusCode, "how well nothing is known")

	require.Equal(t, http.StatusSeeOther, edit("speed", "5 km/h", "slack", "2 m", "depth", "wheel", "attempt", "2", "stuck-mass", "3200 kg").StatusCode)
	says(t, f.said(t, one), "Speed 5 km/h as said, but by the trace the puller lost 16.4 km/h up to the peak")
	says(t, f.said(t, one), "Before the last change: speed was 16.4 km/h; how far that mass may be off was 100 kg.")

	changes, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 1)
	require.NoError(t, err)
	require.Equal(t, http.StatusSeeOther, f.post(t, one+"/undo", form("change", fmt.Sprint(changes[0].ID))).StatusCode)
	p, err = f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.InDelta(t, 16.4/3.6, float64(*p.Speed), 1e-12, "not rounded on the way")

	for name, v := range map[string]url.Values{
		"a bare number is refused": form("speed", "8"), "cannot be below zero": form("slack", "-1m"), "is no depth": form("depth", "roof"),
		"is not a number from 1 to 99": form("attempt", "many"), "of zero makes no sense": form("puller-mass", "0kg"),
	} {
		v.Set("version", fmt.Sprint(p.Version))
		v.Set("kind", "kinetic")
		res := f.post(t, one, v)
		assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, name)
		says(t, visible(read(t, res)), name)
	}
	after, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, p, after, "a refused edit changed something")
}
