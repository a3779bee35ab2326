package web_test

import (
	"context"
	"crypto/tls"
	"net"
	"net/http"
	"net/http/httptest"
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

// TestEncrypted signs in over TLS: the cookie is for this host and for TLS
// only, and the page no longer says that others can read along.
func TestEncrypted(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	pages, err := web.New(web.Config{Store: f.store, Zone: time.UTC, Network: netip.MustParseAddrPort(opened), Encrypted: true})
	require.NoError(t, err)
	d := people.NewDesk(f.store, time.Now)
	p, err := d.Add(t.Context(), "Jun", people.Viewer, "")
	require.NoError(t, err)
	pass, err := d.Pass(t.Context(), p.ID)
	require.NoError(t, err)

	lender := httptest.NewTLSServer(http.NotFoundHandler()) // has a certificate, and a client that trusts it
	defer lender.Close()
	cert, client := lender.TLS.Certificates[0], lender.Client()
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	ended := make(chan error, 1)
	go func() {
		ended <- web.Serve(ctx, ln, pages, &tls.Certificate{Certificate: cert.Certificate, PrivateKey: cert.PrivateKey})
	}()
	defer func() {
		client.CloseIdleConnections()
		stop()
		assert.NoError(t, <-ended)
	}()
	base := "https://" + ln.Addr().String()
	do := func(method, path string, form url.Values) *http.Response {
		r, err := http.NewRequest(method, base+path, nil)
		require.NoError(t, err)
		if form != nil {
			r, err = http.NewRequest(method, base+path, strings.NewReader(form.Encode()))
			require.NoError(t, err)
			r.Header.Set("Content-Type", formMedia)
		}
		r.Header.Set("X-Forwarded-For", "192.168.4.20") // as from elsewhere
		res, err := client.Do(r)
		require.NoError(t, err)
		t.Cleanup(func() { _ = res.Body.Close() })
		return res
	}
	page := read(t, do("GET", "/in/"+pass, nil))
	assert.NotContains(t, page, "not encrypted")
	res := do("POST", "/in/"+pass, url.Values{"token": {tokenFrom(t, page)}})
	require.Equal(t, 303, res.StatusCode, read(t, res))
	require.Len(t, res.Cookies(), 1)
	c := res.Cookies()[0]
	assert.Equal(t, []any{"__Host-tautlog", true, true, "/", ""}, []any{c.Name, c.Secure, c.HttpOnly, c.Path, c.Domain})
}
