package main

import (
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestOpenedToTheNetwork asks the real command for its pages, once as this
// machine and once over its own address on the network, as a phone would.
func TestOpenedToTheNetwork(t *testing.T) {
	t.Parallel()
	address, _ := startServe(t, "--data", t.TempDir(), "--listen", "0.0.0.0:0")
	stay := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	ask := func(address string) (int, string) {
		r, err := stay.Get(address)
		require.NoError(t, err)
		defer r.Body.Close()
		b, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		return r.StatusCode, string(b)
	}
	status, page := ask(address + "/people")
	assert.Equal(t, http.StatusOK, status, "at the machine itself")
	assert.Contains(t, page, "is not encrypted")
	at, err := url.Parse(address)
	require.NoError(t, err)
	own := ownAddress(t)
	if own == "" {
		t.Skip("this machine is on no network")
	}
	there := "http://" + net.JoinHostPort(own, at.Port())
	assert.Contains(t, page, there)
	status, _ = ask(there + "/gear")
	assert.Equal(t, http.StatusSeeOther, status, "from the network")
	status, said := ask(there + "/api/pulls")
	assert.Equal(t, http.StatusUnauthorized, status, said)
	status, _ = ask(there + "/sign-in")
	assert.Equal(t, http.StatusOK, status)
}

// ownAddress is one of this machine on a network, or nothing.
func ownAddress(t *testing.T) string {
	t.Helper()
	all, err := net.InterfaceAddrs()
	require.NoError(t, err)
	for _, a := range all {
		ip, _, err := net.ParseCIDR(a.String())
		if err == nil && ip.To4() != nil && ip.IsGlobalUnicast() && !strings.HasPrefix(ip.String(), "127.") {
			return ip.String()
		}
	}
	return ""
}
