package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// TestAddProof enters a proof pull on the page of a point: what cannot be meant
// is refused beside its field, what was entered is told, and can be undone.
func TestAddProof(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d, err := f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	path := fmt.Sprintf("/gear/%d", d.ID)
	assert.Contains(t, spoken(f.page(t, path)), "Nothing is recorded of how it is held.")
	full := url.Values{"proof-level": {"40 kN"}, "proof-hold": {"30 s"}, "proof-decay": {"2%"}, "proof-set": {"0 mm"}, "proof-date": {"2026-03-14"}, "proof-pull": {fmt.Sprint(f.pull.ID)}, "proof-notes": {"by the winch"}, "proof-who": {"A. Keeper"}}
	for field, c := range map[string]struct{ typed, say string }{
		"proof-level": {"", "The force is needed"}, "proof-hold": {"30", "is not a time"}, "proof-decay": {"120%", "More than all"},
		"proof-set": {"-1 mm", "below zero"}, "proof-date": {"yesterday", "is not a date"}, "proof-pull": {"999", "no pull &#34;999&#34;"},
	} {
		form := url.Values{}
		for k, v := range full {
			form[k] = v
		}
		form.Set(field, c.typed)
		res, page := send(t, f, path+"/proof", form)
		assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, field)
		assert.Contains(t, page, `id="`+field+`-say"`)
		assert.Contains(t, page, c.say)
	}
	res, page := send(t, f, path+"/proof", full)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	now, err := f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	hold, decay, none := 30.0, 0.02, unit.Length(0)
	want := gear.ProofPull{Level: 40e3, Hold: &hold, Decay: &decay, Set: &none, Date: "2026-03-14", Pull: fmt.Sprint(f.pull.ID), Notes: "by the winch"}
	assert.Equal(t, []gear.ProofPull{want}, now.Value.Fixing.Proofs)
	said := spoken(f.page(t, path))
	assert.Contains(t, said, "40 kN, held for 30.0 s, lost 2 % of it meanwhile, no lasting bend was found, 14 March 2026. The pull by the winch")
	assert.Contains(t, said, "A. Keeper: proof pull to 40 kN added")
	res, page = send(t, f, path+"/proof", full)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, "the same pull twice")
	assert.Contains(t, page, `id="proof-pull-say"`)
	assert.Contains(t, page, "as proof already")
	assert.Contains(t, page, "by the winch</textarea>", "what was typed")
	undoLatest(t, f, path, "item", d.ID)
	now, err = f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	assert.Nil(t, now.Value.Fixing)
	res, _ = send(t, f, f.strapPath(t)+"/proof", full)
	assert.Equal(t, http.StatusBadRequest, res.StatusCode, "a strap has no mounting")
}

// TestKeepPullAsProof takes one step from a logged proof pull to the point that
// it proved: the level that was held, 38 of 40 kN, not the peak.
func TestKeepPullAsProof(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := fmt.Sprintf("/pulls/%d", f.pull.ID)
	assert.NotContains(t, f.page(t, path), "Keep it as proof", "a kinetic pull is none")
	at := found()
	held, decay, seconds := unit.Force(38e3), 0.03, 25.0
	at.Start, at.End, at.PeakAt = at.Start+60e9, at.End+90e9, at.PeakAt+60e9
	at.Kind, at.Steady, at.HoldDecay, at.Held = pull.Proof, &held, &decay, &seconds
	p, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: at, Rig: &f.rig.Value, Settled: true})
	require.NoError(t, err)
	path = fmt.Sprintf("/pulls/%d", p.ID)
	page := f.page(t, path)
	assert.Contains(t, page, "rear point, held at 38 kN")
	assert.NotContains(t, page, "bow shackle 12, held at", "a shackle has no mounting")

	point, err := f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	res, page := send(t, f, path+"/proof", url.Values{"proof-item": {""}, "proof-set": {"2"}, "proof-notes": {"watched from afar"}})
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	for _, say := range []string{`id="proof-item-say"`, `id="proof-set-say"`, "watched from afar"} {
		assert.Contains(t, page, say)
	}
	res, _ = send(t, f, path+"/proof", url.Values{"proof-item": {fmt.Sprint(f.strap(t).ID)}})
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, "not a point")
	res, page = send(t, f, path+"/proof", url.Values{"proof-item": {fmt.Sprint(point.ID)}, "proof-set": {"2 mm"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Equal(t, fmt.Sprintf("/gear/%d", point.ID), res.Header.Get("Location"))
	now, err := f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	set := unit.Length(0.002)
	assert.Equal(t, []gear.ProofPull{{Level: held, Hold: &seconds, Decay: &decay, Set: &set, Date: "2026-03-14", Pull: fmt.Sprint(p.ID)}}, now.Value.Fixing.Proofs)
	res, page = send(t, f, path+"/proof", url.Values{"proof-item": {fmt.Sprint(point.ID)}, "proof-notes": {"once more"}})
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, "the same pull twice")
	assert.Contains(t, page, `id="proof-item-say"`)
	assert.Contains(t, page, "once more")
	assert.Contains(t, spoken(f.page(t, fmt.Sprintf("/rigs/%d", f.rig.ID))), "stayed bent after a proof pull to 38 kN", "the rig's page says so at once")
}
