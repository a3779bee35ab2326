package web_test

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
	"tautlog/ingest/needs"
)

// dump is every row of every table of the store.
func (f *fixture) dump(t *testing.T) string {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(f.store.Dir(), "tautlog.db")+"?mode=ro")
	require.NoError(t, err)
	defer db.Close()
	var all strings.Builder
	for _, table := range column(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name`) {
		names := strings.Join(column(t, db, `SELECT 'quote("' || name || '")' FROM pragma_table_xinfo('`+table+`') WHERE hidden <> 1`), ` || ',' || `)
		fmt.Fprintf(&all, "%s\n%s\n", table, strings.Join(column(t, db, `SELECT `+names+` FROM "`+table+`" ORDER BY 1`), "\n"))
	}
	return all.String()
}

func column(t *testing.T, db *sql.DB, query string) (out []string) {
	t.Helper()
	rows, err := db.Query(query)
	require.NoError(t, err, query)
	defer rows.Close()
	for rows.Next() {
		var s sql.NullString
		require.NoError(t, rows.Scan(&s))
		out = append(out, s.String)
	}
	require.NoError(t, rows.Err())
	return out
}

// targetOf is an address that a pattern answers to.
func targetOf(pattern, id string) (method, target string) {
	method, path, _ := strings.Cut(pattern, " ")
	path = strings.NewReplacer("{$}", "", "{kind}", "kinetic", "{id}", id, "{cell}", id).Replace(path)
	return method, regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(path, "x")
}

// bad is a request that must be refused.
type bad struct {
	name, method, target string
	body                 string
	media                string
	change               func(*http.Request)
	want                 []int
}

const formMedia = "application/x-www-form-urlencoded"

// badRequests makes of every route all the ways to misuse it.
func badRequests(operator, viewer, ended, token, viewerToken string) (out []bad) {
	add := func(name, method, target, body, media string, change func(*http.Request), want ...int) {
		out = append(out, bad{method + " " + target + ": " + name, method, target, body, media, change, want})
	}
	with := func(fs ...func(*http.Request)) func(*http.Request) {
		return func(r *http.Request) {
			for _, f := range fs {
				f(r)
			}
		}
	}
	head := func(k, v string) func(*http.Request) { return func(r *http.Request) { r.Header.Set(k, v) } }
	as := fromPhone
	good := url.Values{"token": {token}}.Encode()
	for _, rt := range web.Routes() {
		method, target := targetOf(rt.Pattern, "1")
		add("a method that nobody has", "BREW", target, "", "", as(operator), 405)
		add("to be deleted", "DELETE", target, "", "", as(operator), 405)
		add("a name made to point here", method, target, good, formMedia, with(as(operator), func(r *http.Request) { r.Host = "pulls.example" }), 421)
		add("an address that cannot be read", method, target+"?a=%zz", good, formMedia, as(operator), 400)
		if !rt.Anybody {
			want := []int{401}
			if method == "GET" && !strings.HasPrefix(target, "/api/") {
				want = []int{303}
			}
			add("nobody", method, target, good, formMedia, as(""), want...)
			add("a forged session", method, target, good, formMedia, as("AAAAAAAAAAAAAAAAAAAAAAAAAA"), want...)
			add("a session that has ended", method, target, good, formMedia, as(ended), want...)
		}
		if !rt.Viewers && !rt.Anybody {
			add("a viewer", method, target, url.Values{"token": {viewerToken}}.Encode(), formMedia, as(viewer), 403)
		}
		if strings.Contains(rt.Pattern, "{id}") {
			for _, id := range []string{"0", "-1", "999999", "9223372036854775808", "one", "1e3", "%00", "1%2f..%2f2", "'%20OR%201=1"} {
				m, wrong := targetOf(rt.Pattern, id)
				add("a wrong number", m, wrong, good, formMedia, as(operator), 400, 404)
			}
		}
		if method == "GET" {
			continue
		}
		add("from another site", method, target, good, formMedia, with(as(operator), head("Sec-Fetch-Site", "cross-site")), 403)
		add("from a neighbour", method, target, good, formMedia, with(as(operator), head("Origin", "http://192.168.4.1:9000")), 403)
		add("from nowhere", method, target, good, formMedia, with(as(operator), head("Origin", "null")), 403)
		add("without a token", method, target, "", formMedia, as(operator), 403)
		add("with a viewer's token", method, target, url.Values{"token": {viewerToken}}.Encode(), formMedia, as(operator), 403)
		add("a token in the address", method, target+"?"+good, "", formMedia, as(operator), 403)
		add("as JSON", method, target, `{"token":"`+token+`"}`, "application/json", as(operator), 415)
		add("broken JSON", method, target, `{"`, "application/json; charset=", as(operator), 415)
		add("as plain text", method, target, good, "text/plain", as(operator), 415)
		add("as nothing", method, target, good, "", as(operator), 415)
		add("a broken form", method, target, good+"&a=%zz&;", formMedia, as(operator), 400)
		add("a broken file form", method, target, "--x\r\nnonsense", "multipart/form-data; boundary=x", as(operator), 400, 415)
		add("a file form without boundary", method, target, "--x--", "multipart/form-data", as(operator), 400, 415)
		if rt.Most <= 1<<20 {
			add("a huge form", method, target, good+"&notes="+strings.Repeat("a", int(rt.Most)+1), formMedia, as(operator), 413)
		}
	}
	for _, path := range []string{"/..%2f..%2fetc/passwd", "/assets/..%2f/go.mod", "/pictures/..%2f..%2ftautlog.db", "/gear/1/edit/", "/gear//1", "/%2e%2e/gear", "/api/", "/api/nothing", "/people/1", "/.git/config", "/tautlog.db", "/in/", "/gear/1%00"} {
		add("a path that leads nowhere", "GET", path, "", "", as(operator), 301, 307, 400, 404, 405)
	}
	return out
}

// TestBadRequests tries every way to misuse every route, and finds the store
// as it was: to the last row.
func TestBadRequests(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d := f.open(t)
	operator, viewer := signedIn(t, d, "Mira", people.Operator), signedIn(t, d, "Jun", people.Viewer)
	late := people.NewDesk(f.store, func() time.Time { return start.Add(-90 * 24 * time.Hour) })
	ended := signedIn(t, late, "Ola", people.Operator)
	token := tokenFrom(t, read(t, f.ask("GET", "/gear", nil, fromPhone(operator))))
	viewerToken := tokenFrom(t, read(t, f.ask("GET", "/gear", nil, fromPhone(viewer))))
	all := badRequests(operator, viewer, ended, token, viewerToken)
	before := f.dump(t)
	require.Greater(t, len(before), 10_000)
	for _, b := range all {
		res := f.ask(b.method, "/", nil, func(r *http.Request) {
			u, err := url.ParseRequestURI(b.target)
			require.NoError(t, err, b.name)
			r.URL, r.RequestURI = u, b.target
			r.Body = io.NopCloser(strings.NewReader(b.body))
			if b.media != "" {
				r.Header.Set("Content-Type", b.media)
			}
			b.change(r)
		})
		said := read(t, res)
		if assert.Contains(t, b.want, res.StatusCode, "%s\n%s", b.name, said) && res.StatusCode >= 400 {
			assert.Regexp(t, `class="alarm"[^>]*>[^<]{20,}|"error":".{20,}"|(Bad Request|Not Found)`, said, "%s: nobody is told why", b.name)
		}
	}
	assert.Equal(t, before, f.dump(t), "a refused request changed something")
	assert.GreaterOrEqual(t, len(all), 200)
	t.Logf("%d bad requests were refused", len(all))
}

// serve answers at a real address of this machine until the test ends.
func (f *fixture) serve(t *testing.T) (address string) {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	ended := make(chan error, 1)
	go func() { ended <- web.Serve(ctx, ln, f.pages, nil) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-ended)
	})
	return ln.Addr().String()
}

// TestBadConnections sends what no library would send to the real server.
func TestBadConnections(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	address := f.serve(t)
	before := f.dump(t)
	for name, c := range map[string]struct{ send, want string }{
		"headers too large":       {"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + strings.Repeat("a", 64<<10) + "\r\n\r\n", " 431 "},
		"an address too long":     {"GET /?" + strings.Repeat("a", 64<<10) + " HTTP/1.1\r\nHost: localhost\r\n\r\n", " 431 "},
		"no HTTP":                 {"\x16\x03\x01\x02\x00\x01\x00\r\n\r\n", " 400 "},
		"a broken header":         {"GET / HTTP/1.1\r\nHost: localhost\r\nno colon\r\n\r\n", " 400 "},
		"two hosts":               {"GET / HTTP/1.1\r\nHost: localhost\r\nHost: pulls.example\r\n\r\n", " 400 "},
		"no host":                 {"GET / HTTP/1.1\r\n\r\n", " 400 "},
		"two lengths":             {"POST /choose HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nab", " 400 "},
		"a length below zero":     {"POST /choose HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n", " 400 "},
		"a strange encoding":      {"POST /choose HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: braided\r\n\r\n", " 501 "},
		"a go-between":            {"CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: elsewhere.example:443\r\n\r\n", " 421 "},
		"an address of elsewhere": {"GET http://elsewhere.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n", " 421 "},
		"a body that never comes": {"POST /choose HTTP/1.1\r\nHost: localhost\r\nContent-Type: " + formMedia + "\r\nContent-Length: 99\r\n\r\ntoken=", " 400 "},
		"headers that never end":  {"GET / HTTP/1.1\r\nHost: localhost\r\nX: ", ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			conn, err := net.Dial("tcp", address)
			require.NoError(t, err)
			defer conn.Close()
			require.NoError(t, conn.SetDeadline(time.Now().Add(needs.Patience)))
			_, _ = io.WriteString(conn, c.send) // the server may hang up while this is sent
			line, _ := bufio.NewReader(conn).ReadString('\n')
			assert.Contains(t, line, c.want)
			assert.NotContains(t, line, " 200 ")
		})
	}
	t.Cleanup(func() { assert.Equal(t, before, f.dump(t)) })
}
