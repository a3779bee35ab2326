package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// TestFourTapsInBrowser answers what is asked after a pull: by taps, by keys
// alone, with an answer taken back and one left open. What is kept is what the
// page of the pull shows.
func TestFourTapsInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	axe := axeSource(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	legend := func(says string) {
		t.Helper()
		b.Await(`document.querySelector(".ask legend, .ask .story")?.textContent.startsWith("` + says + `")`)
	}
	tap := func(value string) { b.Click(`.ask button[value="` + value + `"]`) }
	now := func() store.Pull {
		p, err := f.store.Pull(t.Context(), f.pull.ID)
		require.NoError(t, err)
		return p
	}
	b.Open(srv.URL + "/line")
	webtest.Eval[bool](b, "window.untouched = true")
	legend("How fast was the puller")
	assert.Empty(t, barriers(b, axe))
	assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
	b.Shoot("ask-phone")
	tap("8 km/h")
	legend("How much slack")
	assert.InDelta(t, 8/3.6, float64(*now().Speed), 1e-9)
	assert.Equal(t, "LEGEND", webtest.Eval[string](b, "document.activeElement.tagName"), "the next question is read out")
	tap("2 m")
	legend("What ground")
	assert.Equal(t, "wet sand", b.Text(`.ask [aria-pressed="true"]`), "as it was set before the pull")
	b.Click(`.ask button[name="undo"]`)
	legend("How much slack")
	assert.Nil(t, now().Slack, "taken back")
	assert.NotNil(t, now().Speed, "and nothing else")
	b.Press("\t\t\t\r") // from the question to its third answer
	legend("What ground")
	assert.Equal(t, "1 m", now().Slack.String())
	tap("silt")
	legend("How deep")
	assert.Empty(t, barriers(b, axe))
	b.Click(`.ask button[name="skip"]`)
	legend("That is all.")
	assert.Empty(t, barriers(b, axe))
	b.Shoot("ask-done-phone")
	p := now()
	assert.Equal(t, "silt", p.Ground)
	assert.Empty(t, p.Depth)
	assert.True(t, webtest.Eval[bool](b, "window.untouched"), "no page was loaded")
	b.Open(srv.URL + fmt.Sprintf("/pulls/%d", f.pull.ID))
	assert.Equal(t, "8 km/h", webtest.Eval[string](b, `document.querySelector("#speed").value`))
	assert.Equal(t, "1 m", webtest.Eval[string](b, `document.querySelector("#slack").value`))
	assert.Empty(t, b.Errors())
}

// TestAskWithoutScript answers by plain forms, as a browser without the script
// sends them.
func TestAskWithoutScript(t *testing.T) {
	f := newFixture(t)
	path, token := fmt.Sprintf("/pulls/%d/answer", f.pull.ID), f.token(t)
	send := func(form url.Values) string {
		t.Helper()
		form.Set("token", token)
		res := f.ask("POST", path, form, nil)
		require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
		return f.page(t, res.Header.Get("Location")[:len(res.Header.Get("Location"))-len("#ask")])
	}
	behind := regexp.MustCompile(`name="asked" value="([^"]*)"`)
	page := send(url.Values{"step": {"speed"}, "value": {"10 km/h"}})
	assert.Contains(t, page, "How much slack was in the line at the start?")
	page = send(url.Values{"undo": {"1"}, "asked": {behind.FindStringSubmatch(page)[1]}})
	assert.Contains(t, page, "How fast was the puller")
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Nil(t, p.Speed)

	for _, wrong := range []url.Values{
		{"step": {"speed"}, "value": {"8"}}, {"step": {"notes"}, "value": {"x"}}, {"step": {"depth"}, "value": {"chest"}},
		{"undo": {"1"}, "asked": {"speed:99999"}}, {"step": {"speed"}, "value": {"8 km/h"}, "asked": {"x"}},
	} {
		wrong.Set("token", token)
		res := f.ask("POST", path, wrong, nil)
		assert.GreaterOrEqual(t, res.StatusCode, 400, "%v", wrong)
		after, err := f.store.Pull(t.Context(), f.pull.ID)
		require.NoError(t, err)
		assert.Equal(t, p.Version, after.Version, "%v changed it", wrong)
	}
}
