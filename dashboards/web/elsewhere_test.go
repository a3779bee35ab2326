package web_test

import (
	"net/http"
	"net/netip"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"
)

// TestBackToOurselves sends people back to a page of this server, and nowhere
// else: not by what browsers make of an address (URL Standard of the WHATWG:
// tabs and line ends are taken out, and \ is / in an http address).
func TestBackToOurselves(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	token := f.token(t)
	for back, want := range map[string]string{
		"/pulls?date=2026-03-14#photos": "/pulls?date=2026-03-14#photos",
		"":                              "/", "pulls": "/", "https://elsewhere.example/": "/", "//elsewhere.example/": "/",
		"/\\elsewhere.example/": "/", "\\\\elsewhere.example": "/", "/\t/elsewhere.example/": "/", "/\n/elsewhere.example/": "/", "/\r\n/elsewhere.example": "/",
		"\t//elsewhere.example": "/", "/pulls\x00": "/", "/\u0085/elsewhere.example": "/",
	} {
		res := f.ask("POST", "/choose", url.Values{"token": {token}, "look": {"day"}, "back": {back}}, nil)
		assert.Equal(t, []any{http.StatusSeeOther, want}, []any{res.StatusCode, res.Header.Get("Location")}, "%q", back)
	}
}

// TestPagesOfElsewhere asks at this machine, where nobody signs in, as the
// browser does for a page of another site (W3C Fetch Metadata): a person may
// come by a link, and the page may not ask by itself.
func TestPagesOfElsewhere(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for _, target := range []string{"/api/pulls", "/pulls", "/files/pulls.parquet", "/days/2026-03-14/report.pdf", "/multipliers/next"} {
		for asks, c := range map[string]struct {
			site, mode, dest string
			want             int
		}{
			"a link elsewhere":           {"cross-site", "navigate", "document", 200},
			"a person":                   {"none", "navigate", "document", 200},
			"a page of ours":             {"same-origin", "cors", "empty", 200},
			"a program, or an old one":   {"", "", "", 200},
			"a picture elsewhere":        {"cross-site", "no-cors", "image", 403},
			"a script elsewhere":         {"cross-site", "cors", "empty", 403},
			"a frame elsewhere":          {"cross-site", "navigate", "iframe", 403},
			"a page behind another port": {"same-site", "no-cors", "script", 403},
		} {
			res := f.ask("GET", target, nil, func(r *http.Request) {
				for name, v := range map[string]string{"Sec-Fetch-Site": c.site, "Sec-Fetch-Mode": c.mode, "Sec-Fetch-Dest": c.dest} {
					if v != "" {
						r.Header.Set(name, v)
					}
				}
			})
			assert.Equal(t, c.want, res.StatusCode, "%s by %s", target, asks)
		}
	}
}

// TestFailureNamesNoDirectory asks for pages of a store that is gone: why is
// said to whoever runs the program, and not to strangers on the network.
func TestFailureNamesNoDirectory(t *testing.T) {
	t.Parallel()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	pages, err := web.New(web.Config{Store: s, Zone: time.UTC, Network: netip.MustParseAddrPort(opened)})
	require.NoError(t, err)
	f := &fixture{store: s, pages: pages}
	viewer := signedIn(t, people.NewDesk(s, time.Now), "Jun", people.Viewer)
	require.NoError(t, s.Close())
	said := read(t, f.ask("GET", "/pulls", nil, nil))
	assert.Contains(t, said, "database is closed")
	for who, how := range map[string]func(*http.Request){"nobody": fromPhone(""), "a viewer": fromPhone(viewer)} {
		for _, target := range []string{"/sign-in", "/in/AAAA", "/pulls"} {
			said := read(t, f.ask("GET", target, nil, how))
			assert.NotContains(t, said, s.Dir(), "%s, %s", target, who)
			assert.NotContains(t, said, "database", "%s, %s", target, who)
		}
	}
}
