package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// awaited asks for a page until nothing in it is being worked out any more.
func awaited(t *testing.T, f *fixture, target string) string {
	t.Helper()
	for look := time.Tick(50 * time.Millisecond); ; <-look {
		if said := f.said(t, target); !strings.Contains(said, "being worked out") && !strings.Contains(said, "being brought up to date") {
			return said
		}
	}
}

// TestLargeLog edits a pull of a log that is fitted in the background, as a
// person does with the pages, and looks at once at what the log says: it is
// never shown as today's without what was edited, nor given to a program.
func TestLargeLog(t *testing.T) {
	t.Parallel()
	s, err := store.Open(t.TempDir(), store.Options{Now: clubNow})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	fillClub(t, s, clubSize{items: 40, vehicles: 4, rigs: 4, pulls: 2100, days: 21})
	f := clubRuns(t, s)

	said := awaited(t, f, "/multipliers?set=log")
	assert.Regexp(t, `kinetic, mud, recovery strap: plan with [\d.]+`, said)
	assert.Contains(t, said, "2,100 pulls, from the 1. on")
	assert.Contains(t, f.said(t, "/multipliers?set=log&from=201"), "2,100 pulls, from the 201. on")
	assert.Equal(t, http.StatusBadRequest, f.ask("GET", "/multipliers?set=log&from=0", nil, nil).StatusCode)
	assert.Contains(t, awaited(t, f, "/plan/kinetic?"+withRig(kineticPlan, "rig 0001").Encode()), "(all years, version 1)")
	assert.NotEmpty(t, awaited(t, f, "/multipliers/next?limit=60+kN"))
	for _, kind := range []string{"classes", "speed", "residuals"} {
		var c struct {
			Says             string
			Classes, Grounds []struct{ Points []json.RawMessage }
		}
		require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers/"+kind+"?set=log")), &c))
		drawn := 0
		for _, g := range append(c.Classes, c.Grounds...) {
			drawn += len(g.Points)
		}
		assert.LessOrEqual(t, drawn, 2000)
		assert.Equal(t, kind == "classes", strings.Contains(c.Says, "pulls are drawn: those that stand out"), "%s: %d", kind, drawn)
	}

	for i := range 2 {
		p, err := s.Pull(t.Context(), int64(100+i))
		require.NoError(t, err)
		ground := fmt.Sprintf("volcanic ash %d", i)
		res := f.post(t, fmt.Sprintf("/pulls/%d", p.ID), url.Values{"version": {fmt.Sprint(p.Version)}, "kind": {string(p.Kind)}, "ground": {ground}})
		require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
		said := f.said(t, "/multipliers?set=log")
		assert.True(t, strings.Contains(said, ground) || strings.Contains(said, "This is from 2,100 pulls: the log has changed since"), "an old fit is shown as today's")
		res = f.ask("GET", "/api/multipliers?set=log", nil, nil)
		body := read(t, res)
		assert.True(t, res.StatusCode == http.StatusServiceUnavailable || strings.Contains(body, ground), "a program is given an old fit")
		says(t, awaited(t, f, "/multipliers?set=log"), ground)
	}
	log, err := s.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	pulls := make([]shock.Pull, len(log))
	for i, l := range log {
		pulls[i] = shock.FromLog(l)
	}
	want := shock.Keep("the log today", pulls)
	var got shock.Kept
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers?set=log")), &got))
	assert.Equal(t, want.Fit, got.Fit)
	assert.Equal(t, len(want.Pulls), len(got.Pulls))

	res := f.post(t, "/multipliers/keep", form("name", "with ash"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	assert.NotContains(t, f.said(t, "/multipliers?set=with+ash@1"), "being worked out", "what was fitted just now is not fitted again")
	assert.NotRegexp(t, regexp.MustCompile(`fit otherwise`), f.said(t, "/multipliers?set=with+ash@1"))
}

func withRig(q url.Values, name string) url.Values {
	out := url.Values{}
	for k, v := range q {
		out[k] = v
	}
	out.Set("rig", name)
	return out
}
