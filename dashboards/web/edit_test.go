package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/ingest/store"
)

// TestEditAndUndo changes a pull as a person does, and takes it back.
func TestEditAndUndo(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	form := url.Values{"token": {f.token(t)}, "version": {fmt.Sprint(f.pull.Version)}, "kind": {"steady"}, "ground": {"silt"}, "notes": {"held <i>long</i>"}}
	require.Equal(t, http.StatusSeeOther, f.ask("POST", one, form, nil).StatusCode)

	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, []any{pull.Steady, "silt", "held <i>long</i>", pull.Kinetic}, []any{p.Kind, p.Ground, p.Notes, p.Found.Kind})
	page := f.page(t, one)
	assert.Contains(t, page, "The trace looks like a kinetic pull; a person has said that it was a steady one.")
	assert.Contains(t, page, "kind was kinetic; ground was “wet sand”; notes were different")
	assert.NotContains(t, page, "<i>long</i>")

	before, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 0)
	require.NoError(t, err)
	require.Equal(t, http.StatusSeeOther, f.ask("POST", one, form, nil).StatusCode, "the same form a second time")
	after, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 0)
	require.NoError(t, err)
	assert.Equal(t, before, after, "is no change")

	changes, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 1)
	require.NoError(t, err)
	require.Len(t, changes, 1)
	undo := url.Values{"token": {f.token(t)}, "change": {fmt.Sprint(changes[0].ID)}}
	require.Equal(t, http.StatusSeeOther, f.ask("POST", one+"/undo", undo, nil).StatusCode)
	p, err = f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, []any{pull.Kinetic, "wet sand", ""}, []any{p.Kind, p.Ground, p.Notes})
	undoLatest(t, f, one, "pull", f.pull.ID)
	p, err = f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, "silt", p.Ground, "an undo is undone")
}

// TestUndoLeavesWhatWasMeasured: an edit of a pull is undone though the
// analysis measured it anew since, and what was edited again since is not
// written over.
func TestUndoLeavesWhatWasMeasured(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	edit := func(ground string) int64 {
		p, err := f.store.Pull(t.Context(), f.pull.ID)
		require.NoError(t, err)
		res, page := send(t, f, one, url.Values{"version": {fmt.Sprint(p.Version)}, "kind": {"kinetic"}, "ground": {ground}})
		require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
		changes, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 1)
		require.NoError(t, err)
		return changes[0].ID
	}
	first := edit("silt")
	again := found()
	again.Peak = 41_000
	_, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: again, Rig: &f.rig.Value, Settled: true})
	require.NoError(t, err)
	assert.Contains(t, spoken(f.page(t, one)), "Before the last change: ground was “wet sand”.")
	res, page := send(t, f, one+"/undo", url.Values{"change": {fmt.Sprint(first)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, "wet sand", p.Ground)
	assert.InDelta(t, 41_000, float64(p.Found.Peak), 1e-9)
	edit("clay")
	res, _ = send(t, f, one+"/undo", url.Values{"change": {fmt.Sprint(first)}})
	assert.Equal(t, http.StatusConflict, res.StatusCode, "it was changed again since")
	res, _ = send(t, f, one+"/undo", url.Values{"change": {"9999"}})
	assert.Equal(t, http.StatusNotFound, res.StatusCode)
}

// TestSetup puts the rig in force and reads the page back.
func TestSetup(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.Contains(t, f.page(t, "/line"), "No rig is set")
	form := url.Values{"token": {f.token(t)}, "cell": {"River-1"}, "version": {"0"}, "rig": {fmt.Sprint(f.rig.ID)}, "ground": {"firm gravel"}}
	require.Equal(t, http.StatusSeeOther, f.ask("POST", "/line/setup", form, nil).StatusCode)
	got, err := f.store.Setup(t.Context(), f.cell.ID)
	require.NoError(t, err)
	assert.Equal(t, f.rig.ID, got.Rig)
	page := f.page(t, "/line")
	assert.Contains(t, page, "single strap, on firm gravel")
	assert.NotContains(t, page, "No rig is set")

	setting := regexp.MustCompile(`action="/line/undo">(?s:.*?)name="change" value="(\d+)"`)
	assert.Regexp(t, `Set by \w+, .* Before that: nothing\.`, spoken(page))
	undo := url.Values{"token": {f.token(t)}, "cell": {"River-1"}, "change": {setting.FindStringSubmatch(page)[1]}}
	require.Equal(t, http.StatusSeeOther, f.ask("POST", "/line/undo", undo, nil).StatusCode)
	page = f.page(t, "/line")
	assert.Contains(t, page, "No rig is set")
	assert.Contains(t, spoken(page), "Before that: single strap, on firm gravel.")
	assert.Equal(t, http.StatusConflict, f.ask("POST", "/line/undo", undo, nil).StatusCode, "something newer stands on it")
	undo.Set("change", setting.FindStringSubmatch(page)[1])
	require.Equal(t, http.StatusSeeOther, f.ask("POST", "/line/undo", undo, nil).StatusCode, "an undo is undone")
	got, err = f.store.Setup(t.Context(), f.cell.ID)
	require.NoError(t, err)
	assert.Equal(t, f.rig.ID, got.Rig)
}

// TestTrace reads the pull's readings back through the interface, at a width
// that shows single readings and at one that does not.
func TestTrace(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	type trace struct {
		T, Low, High []float64
		N            []int
		Step         float64
	}
	get := func(query string) (tr trace) {
		require.NoError(t, json.Unmarshal([]byte(f.page(t, fmt.Sprintf("/api/pulls/%d/trace?%s", f.pull.ID, query))), &tr))
		return tr
	}
	whole := get("columns=100")
	require.LessOrEqual(t, len(whole.T), 100)
	assert.Equal(t, 1000, sum(whole.N))
	assert.InDelta(t, 40_000, maxOf(whole.High), 0.5, "the peak survives at any width")
	assert.Equal(t, 1.0, whole.Step)

	from := start.UnixNano() + 4490*1e6
	single := get(fmt.Sprintf("from=%d&to=%d&columns=100", from, from+20*1e6))
	require.Len(t, single.T, 20)
	for i := range single.T {
		assert.Equal(t, 1, single.N[i])
		assert.Equal(t, single.Low[i], single.High[i])
		assert.InDelta(t, float64(pulse()[4490+i]), single.High[i], 0.05)
		assert.InDelta(t, float64(from/1e6)+float64(i), single.T[i], 0.01)
	}
}

func sum(ns []int) (s int) {
	for _, n := range ns {
		s += n
	}
	return s
}

func maxOf(vs []float64) (m float64) {
	for _, v := range vs {
		m = max(m, v)
	}
	return m
}

// TestInterface reads a pull as a program does.
func TestInterface(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	var list struct {
		Pulls []struct {
			ID    int64
			Cell  string
			Found pull.Record
		}
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/pulls?limit=5")), &list))
	require.Len(t, list.Pulls, 1)
	assert.Equal(t, "River-1", list.Pulls[0].Cell)
	assert.Equal(t, 40_000.0, list.Pulls[0].Found.Peak)
	var one struct {
		Items []struct {
			Name, Verdict string
			Utilisation   *float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, fmt.Sprintf("/api/pulls/%d", f.pull.ID))), &one))
	require.Len(t, one.Items, 6)
	assert.Equal(t, "bow shackle 13", one.Items[0].Name)
	require.NotNil(t, one.Items[0].Utilisation)
	assert.InDelta(t, 40/31.9, *one.Items[0].Utilisation, 1e-9)
	assert.Contains(t, f.page(t, "/api/cells"), `"name":"River-1"`)
}
