package web_test

import (
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
)

const (
	opened = "192.168.4.1:8480" // where the pages are found on the network
	phone  = "192.168.4.20:41000"
)

// open opens the pages of a fixture to the network.
func (f *fixture) open(t *testing.T) *people.Desk {
	t.Helper()
	now := func() time.Time { return start.Add(time.Minute) }
	var err error
	f.pages, err = web.New(web.Config{Store: f.store, Zone: time.UTC, Demo: true, Now: now, Network: netip.MustParseAddrPort(opened), User: "A. Keeper"})
	require.NoError(t, err)
	return people.NewDesk(f.store, now)
}

// fromPhone makes a request come from a phone, signed in with a secret unless
// that is empty.
func fromPhone(secret string) func(*http.Request) {
	return func(r *http.Request) {
		r.Host, r.RemoteAddr = opened, phone
		if secret != "" {
			r.AddCookie(&http.Cookie{Name: "tautlog", Value: secret})
		}
	}
}

// signedIn adds a person and signs a phone in as them.
func signedIn(t *testing.T, d *people.Desk, name string, role people.Role) (secret string) {
	t.Helper()
	p, err := d.Add(t.Context(), name, role, "")
	require.NoError(t, err)
	pass, err := d.Pass(t.Context(), p.ID)
	require.NoError(t, err)
	secret, _, err = d.UsePass(t.Context(), pass, people.Client{Address: "192.168.4.20"})
	require.NoError(t, err)
	return secret
}

// tokenFrom is the one that the forms of a page carry.
func tokenFrom(t *testing.T, page string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, `name="token" value="`)
	require.True(t, ok, page)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}

// TestSignInOnAPhone goes the way of a volunteer: sent to the sign-in, by a
// code of the laptop's page, to a page, and out again as the phone is lost.
func TestSignInOnAPhone(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.open(t)
	res := f.ask("GET", "/gear/1", nil, fromPhone(""))
	assert.Equal(t, []any{303, "/sign-in?back=%2Fgear%2F1"}, []any{res.StatusCode, res.Header.Get("Location")})
	assert.Contains(t, read(t, f.ask("GET", "/sign-in", nil, fromPhone(""))), "Nobody can sign in yet.")

	token := f.token(t)
	require.Equal(t, 303, f.ask("POST", "/people", url.Values{"token": {token}, "name": {"Jun"}, "role": {"viewer"}}, nil).StatusCode)
	page := read(t, f.ask("POST", "/people/1/phone", url.Values{"token": {token}}, nil))
	assert.Contains(t, page, "http://192.168.4.1:8480")
	assert.Contains(t, page, "is not encrypted")
	assert.Contains(t, page, `aria-label="QR code"`)
	assert.NotContains(t, page, "/in/", "the link itself is only in the code")

	d := people.NewDesk(f.store, func() time.Time { return start.Add(time.Minute) })
	pass, err := d.Pass(t.Context(), 1)
	require.NoError(t, err)
	page = read(t, f.ask("GET", "/in/"+pass, nil, fromPhone("")))
	assert.Contains(t, page, "This link signs this device in as Jun.")
	res = f.ask("POST", "/in/"+pass, url.Values{"token": {tokenFrom(t, page)}}, func(r *http.Request) {
		fromPhone("")(r)
		r.Header.Set("User-Agent", "Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 Chrome/140.0 Mobile Safari/537.36")
	})
	require.Equal(t, 303, res.StatusCode, read(t, res))
	require.Len(t, res.Cookies(), 1)
	c := res.Cookies()[0]
	assert.True(t, c.HttpOnly && c.SameSite == http.SameSiteLaxMode && c.MaxAge > 0 && !c.Secure)
	assert.Equal(t, 401, f.ask("POST", "/in/"+pass, url.Values{"token": {tokenFrom(t, page)}}, fromPhone("")).StatusCode, "a second time")

	page = read(t, f.ask("GET", "/gear/1", nil, fromPhone(c.Value)))
	assert.Contains(t, page, "You are signed in as Jun, a viewer")
	assert.Equal(t, 403, f.ask("GET", "/people", nil, fromPhone(c.Value)).StatusCode)
	page = f.page(t, "/people")
	assert.Contains(t, page, "Android, Chrome at 192.168.4.20")
	assert.NotContains(t, f.page(t, "/people?ended=1"), "That device is signed out", "it is not")
	res = f.ask("POST", "/sessions/1/end", url.Values{"token": {token}}, nil)
	require.Equal(t, 303, res.StatusCode)
	assert.Contains(t, f.page(t, res.Header.Get("Location")), "That device is signed out. It has to sign in again")
	assert.Equal(t, 303, f.ask("GET", "/gear/1", nil, fromPhone(c.Value)).StatusCode)
	assert.Equal(t, 401, f.ask("GET", "/api/pulls", nil, fromPhone(c.Value)).StatusCode)
}

// TestPasswordOnAPhone signs in by typing, and is held up after guessing.
func TestPasswordOnAPhone(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d := f.open(t)
	_, err := d.Add(t.Context(), "Mira", people.Operator, "three short words")
	require.NoError(t, err)
	token := tokenFrom(t, read(t, f.ask("GET", "/sign-in", nil, fromPhone(""))))
	try := func(password string) *http.Response {
		return f.ask("POST", "/sign-in", url.Values{"token": {token}, "name": {"Mira"}, "password": {password}, "back": {"//elsewhere.example"}}, fromPhone(""))
	}
	res := try("three short words")
	assert.Equal(t, []any{303, "/"}, []any{res.StatusCode, res.Header.Get("Location")})
	for range 5 {
		res = try("guess")
		assert.Equal(t, 401, res.StatusCode)
		assert.Empty(t, res.Cookies())
	}
	res = try("three short words")
	assert.Equal(t, []any{429, "601"}, []any{res.StatusCode, res.Header.Get("Retry-After")})
	assert.Contains(t, read(t, res), "wait 10 min")
}

// TestWhoChangedIt reads the journal after changes from here and from a phone.
func TestWhoChangedIt(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	secret := signedIn(t, f.open(t), "Mira", people.Operator)
	change := func(name, token string, how func(*http.Request)) string {
		res := f.ask("POST", "/vehicles/new", url.Values{"token": {token}, "name": {name}, "who": {"Somebody else"}}, how)
		require.Equal(t, 303, res.StatusCode, read(t, res))
		last, err := f.store.Journal(t.Context(), "vehicle", 0, 1)
		require.NoError(t, err)
		return last[0].Who
	}
	phoneToken := tokenFrom(t, read(t, f.ask("GET", "/gear", nil, fromPhone(secret))))
	assert.Equal(t, "Mira", change("Mole", phoneToken, fromPhone(secret)), "whatever the form says")
	assert.Equal(t, "Somebody else", change("Heron", f.token(t), nil), "at the machine itself people say who they are")
	res := f.ask("POST", "/line/setup", url.Values{"token": {f.token(t)}, "cell": {"River-1"}, "version": {"0"}, "rig": {"1"}}, nil)
	require.Equal(t, 303, res.StatusCode)
	last, err := f.store.Journal(t.Context(), "setup", 0, 1)
	require.NoError(t, err)
	assert.Equal(t, "A. Keeper", last[0].Who, "nobody said: the machine's user")
	assert.Equal(t, 403, f.ask("POST", "/vehicles/new", url.Values{"token": {f.token(t)}, "name": {"Otter"}}, fromPhone(secret)).StatusCode, "the token of another visitor")
}

// TestNoSignInHereOnly lists from where no sign-in is needed.
func TestNoSignInHereOnly(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.open(t)
	for name, c := range map[string]struct {
		host, peer, header string
		want               int
	}{
		"this machine":                  {"127.0.0.1:8480", "127.0.0.1:5000", "", 200},
		"this machine, version 6":       {"[::1]:8480", "[::1]:5000", "", 200},
		"the network by its address":    {opened, phone, "", 303},
		"the network by our own name":   {"localhost:8480", phone, "", 303},
		"this machine by the network":   {opened, "127.0.0.1:5000", "", 303},
		"a go-between on this machine":  {"localhost:8480", "127.0.0.1:5000", "X-Forwarded-For", 303},
		"another address of the net":    {"192.168.4.2:8480", phone, "", 421},
		"a name made to point here":     {"pulls.example:8480", phone, "", 421},
		"the same, at this machine":     {"pulls.example:8480", "127.0.0.1:5000", "", 421},
		"no host at all":                {"", phone, "", 421},
		"an address that is no address": {"192.168.4.1.example", phone, "", 421},
	} {
		res := f.ask("GET", "/gear", nil, func(r *http.Request) {
			r.Host, r.RemoteAddr = c.host, c.peer
			if c.header != "" {
				r.Header.Set(c.header, "192.168.4.20")
			}
		})
		assert.Equal(t, c.want, res.StatusCode, name)
	}
}
