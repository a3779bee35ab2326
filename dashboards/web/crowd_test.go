package web

import (
	"bufio"
	"context"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// TestCrowdIsBounded counts until one client, and then all of them, have
// enough, and finds room again when some have gone.
func TestCrowdIsBounded(t *testing.T) {
	t.Parallel()
	const most, all = 12, 200
	c := newCrowd(most, all)
	for range most {
		assert.True(t, c.open("a"))
	}
	assert.False(t, c.open("a"), "too many of one")
	assert.True(t, c.open("b"))
	c.close("a")
	assert.True(t, c.open("a"))
	for i := 0; c.open(strings.Repeat("c", i/most+1)); i++ {
		assert.Less(t, i, all)
	}
	assert.Equal(t, all, c.there)
	assert.False(t, c.open("d"), "too many in all")
}

// networkAddress is one of this machine that is not its loopback: what asks
// from there, asks as another machine does.
func networkAddress(t *testing.T) string {
	t.Helper()
	all, err := net.InterfaceAddrs()
	require.NoError(t, err)
	for _, a := range all {
		if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().IsGlobalUnicast() && p.Addr().Is4() {
			return p.Addr().String()
		}
	}
	needs.Missing(t, "this machine is on no network, so it cannot be asked as from another one")
	return ""
}

// holdOpen opens a connection, and has asked once when it returns; an error
// says that it was hung up on.
func holdOpen(t *testing.T, address string) (net.Conn, error) {
	t.Helper()
	conn, err := net.Dial("tcp", address)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	require.NoError(t, conn.SetDeadline(time.Now().Add(time.Minute)))
	r, err := http.NewRequest("GET", "http://"+address+"/api/pulls", nil)
	require.NoError(t, err)
	if err := r.Write(conn); err != nil {
		return conn, err
	}
	res, err := http.ReadResponse(bufio.NewReader(conn), r)
	if err == nil {
		assert.NoError(t, res.Body.Close())
	}
	return conn, err
}

// TestOneMachineTakesNoMoreThanItsShare holds connections open from a machine
// of the network until it has all that it may: from then on it is hung up on,
// whoever sits here is answered, and there is room again when one has closed.
func TestOneMachineTakesNoMoreThanItsShare(t *testing.T) {
	t.Parallel()
	other := networkAddress(t)
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	ln, err := net.Listen("tcp", ":0")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(ln.Addr().String())
	require.NoError(t, err)
	pages, err := New(Config{Store: s, Network: netip.MustParseAddrPort("0.0.0.0:" + port)})
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	ended := make(chan error, 1)
	go func() { ended <- Serve(ctx, ln, pages, nil) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-ended)
	})
	there, here := net.JoinHostPort(other, port), net.JoinHostPort("127.0.0.1", port)
	var last net.Conn
	for range connectionsOfOne {
		last, err = holdOpen(t, there)
		require.NoError(t, err)
	}
	for range 3 {
		_, err = holdOpen(t, there)
		assert.Error(t, err, "one more than its share")
		_, err = holdOpen(t, here)
		assert.NoError(t, err, "at this machine")
	}
	require.NoError(t, last.Close())
	require.Eventually(t, func() bool {
		_, err := holdOpen(t, there)
		return err == nil
	}, time.Minute, 10*time.Millisecond, "one has closed")
}
