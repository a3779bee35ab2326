package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/dashboards/label"
	"tautlog/ingest/store"
)

// TestLabels chooses two items and finds the codes of their addresses. That a
// code is read again is checked in package label.
func TestLabels(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.Equal(t, 6, strings.Count(f.page(t, "/gear/labels"), `type="checkbox"`))
	assert.Equal(t, 1, strings.Count(f.page(t, "/gear/labels?text=strap"), `type="checkbox"`))
	id := f.strap(t).ID
	page := f.page(t, fmt.Sprintf("/gear/labels?item=1&item=%d&address=http://river-bar.local:8080/", id))
	assert.Equal(t, 2, strings.Count(page, `class="qr"`))
	code, err := label.QR(fmt.Sprintf("http://river-bar.local:8080/gear/%d", id))
	require.NoError(t, err)
	assert.Contains(t, page, string(code))
	assert.Contains(t, spoken(page), "blue strap 9 m recovery strap, b9 MBS 80 kN, any direction")
	assert.NotContains(t, page, "only this computer")
	assert.Contains(t, f.page(t, "/gear/labels?item=1"), "only this computer")
	for _, wrong := range []string{"river-bar", "ftp://bar", "http://bar/gear", "http://", "javascript:alert(1)"} {
		page := f.page(t, "/gear/labels?item=1&address="+url.QueryEscape(wrong))
		assert.Contains(t, page, `id="address-say"`, wrong)
		assert.NotContains(t, page, `class="qr"`, wrong)
	}
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/gear/labels?item=999", nil, nil).StatusCode)
	assert.Equal(t, http.StatusBadRequest, f.ask("GET", "/gear/labels?"+strings.Repeat("item=1&", 201), nil, nil).StatusCode)
}

// TestVehicle adds a vehicle, sees its point, edits it with a clash, removes
// it and brings it back.
func TestVehicle(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	res, page := send(t, f, "/vehicles/new", url.Values{"name": {"Mole"}, "gvm": {"4.4"}, "full-turn": {"95deg"}})
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, page, `id="gvm-say"`)
	assert.Contains(t, page, `id="full-turn-say"`)
	form := url.Values{"name": {"Mole"}, "gvm": {"4.4 t"}, "wheelbase": {"2.85 m"}, "full-turn": {"35deg"}}
	res, page = send(t, f, "/vehicles/new", form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	path := res.Header.Get("Location")
	_, err := f.store.SaveItem(t.Context(), store.Document[gear.Item]{Value: gear.Item{ID: "m1", Name: "rear hitch", Kind: gear.HitchReceiver, Vehicle: "Mole", Where: "rear middle"}})
	require.NoError(t, err)
	said := spoken(f.page(t, path))
	for _, say := range []string{"Gross vehicle mass 4.4 t", "As weighed, loaded as used not known", "Wheelbase 2.85 m", "Full turn of the front wheels 35°", "rear hitch hitch receiver, rear middle"} {
		assert.Contains(t, said, say)
	}
	res, page = send(t, f, "/vehicles/new", form)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, page)

	docs, err := f.store.Vehicles(t.Context())
	require.NoError(t, err)
	require.Len(t, docs, 1)
	assert.Equal(t, unit.Mass(4400), *docs[0].Value.GVM)
	form.Set("version", fmt.Sprint(docs[0].Version))
	form.Set("weighed-within", "50 kg")
	form.Set("kerb", "4.5 t")
	res, page = send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, page, `id="weighed-within-say"`)
	assert.Contains(t, page, `id="kerb-say"`)
	form.Set("kerb", "3.2 t")
	form.Set("weighed", "4.1 t")
	res, _ = send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Contains(t, spoken(f.page(t, path)), "Kerb mass 3.2 t As weighed, loaded as used 4.1 t How far that may be off 50 kg")
	form.Set("weighed", "4.2 t")
	res, page = send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, spoken(page), "As weighed It was nothing , it is now 4100 kg , you have 4200 kg . Yours stands")

	res, page = send(t, f, path+"/remove", url.Values{"version": {"2"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.NotContains(t, f.page(t, "/vehicles"), "Mole")
	assert.Contains(t, f.page(t, "/vehicles?show=removed"), "Mole")
	undoLatest(t, f, path, "vehicle", docs[0].ID)
	assert.Contains(t, f.page(t, "/vehicles?text=mole"), "Mole")
}
