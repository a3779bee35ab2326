//go:build unix

package archive_test

import (
	"bytes"
	"context"
	"encoding/pem"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
)

// slowly passes connections on to a server, so many bytes a second of each to
// it, until the test ends.
func slowly(t *testing.T, to string, perSecond int) (url string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	var all sync.WaitGroup
	ctx, cancel := context.WithCancel(context.Background())
	t.Cleanup(func() { cancel(); _ = l.Close(); all.Wait() })
	all.Go(func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", strings.TrimPrefix(to, "http://"))
			if err != nil {
				_ = near.Close()
				continue
			}
			end := func() { _ = near.Close(); _ = far.Close() }
			context.AfterFunc(ctx, end)
			all.Go(func() { defer end(); _, _ = io.Copy(near, far) })
			all.Go(func() { defer end(); throttle(ctx, far, near, perSecond) })
		}
	})
	return "http://" + l.Addr().String()
}

func throttle(ctx context.Context, to io.Writer, from io.Reader, perSecond int) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for buf := make([]byte, perSecond/50); ; {
		n, err := from.Read(buf)
		if err == nil {
			_, err = to.Write(buf[:n])
		}
		if err != nil {
			return
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}

// TestSlowServer pushes through a line that takes 20 kB a second, to a program
// that waits for two seconds only: it sends less at once until it gets through.
func TestSlowServer(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	l := newLaptop(t, slowly(t, server.URL, 20_000), bucket, "")
	l.record(t, noise(l.cell, start, 1e9/320.7, 12_000))
	connection := l.connect(t)
	connection.SetPatience(2 * time.Second)
	pusher := archive.NewPusher(archive.Config{Store: l.store, Server: connection})
	for l.state(t).Readings > 0 { // on a busy machine even little may take too long
		if _, err := pusher.Push(t.Context(), true); err != nil {
			wantFault(t, err, archive.Slow, "did not answer in time")
		}
	}
	l.wantAll(t, server, bucket)
}

// front is a server in front of the real one that may answer in its place.
func front(t *testing.T, server *archivetest.Server, instead func(http.ResponseWriter, *http.Request) bool) http.Handler {
	t.Helper()
	to, err := url.Parse(server.URL)
	require.NoError(t, err)
	proxy := httputil.NewSingleHostReverseProxy(to)
	proxy.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	transport := &http.Transport{DisableKeepAlives: true}
	proxy.Transport = transport
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !instead(w, r) {
			proxy.ServeHTTP(w, r)
		}
	})
}

// TestTooMuchAtOnce pushes past a server in front that takes no large bodies,
// as many do.
func TestTooMuchAtOnce(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	gate := httptest.NewServer(front(t, server, func(w http.ResponseWriter, r *http.Request) bool {
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, 8000))
		if err != nil {
			http.Error(w, "request entity too large", http.StatusRequestEntityTooLarge)
			return true
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		return false
	}))
	t.Cleanup(gate.Close)
	l := newLaptop(t, gate.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 9000))
	assert.Equal(t, 9000, push(t, t.Context(), l.pusher(t)).Readings)
	l.wantAll(t, server, bucket)
}

// TestCertificate wants a server's certificate to be trusted before a token is
// sent, and takes one of an own authority.
func TestCertificate(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	var asked atomic.Int64
	gate := httptest.NewUnstartedServer(front(t, server, func(http.ResponseWriter, *http.Request) bool { asked.Add(1); return false }))
	gate.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	gate.StartTLS()
	t.Cleanup(gate.Close)
	l := newLaptop(t, gate.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 50))
	_, err := l.pusher(t).Push(t.Context(), true)
	wantFault(t, err, archive.Denied, "is not trusted")
	assert.Zero(t, asked.Load())

	l.settings.CAFile = filepath.Join(t.TempDir(), "club.pem")
	require.NoError(t, os.WriteFile(l.settings.CAFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: gate.Certificate().Raw}), 0o600))
	push(t, t.Context(), l.pusher(t))
	l.wantAll(t, server, bucket)
}

// TestTokenStays follows no redirection to another server.
func TestTokenStays(t *testing.T) {
	t.Parallel()
	var heard atomic.Int64
	other := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { heard.Add(1) }))
	t.Cleanup(other.Close)
	gate := httptest.NewServer(http.RedirectHandler(other.URL, http.StatusTemporaryRedirect))
	t.Cleanup(gate.Close)
	l := newLaptop(t, gate.URL, "club/autogen", "")
	l.record(t, noise(l.cell, start, 1e6, 50))
	_, err := l.pusher(t).Push(t.Context(), true)
	wantFault(t, err, archive.Denied, "no archive that this program knows (status 307")
	assert.Zero(t, heard.Load())
}

// TestFollow pushes beside a recording: while the server is away the waits
// grow and nothing but the first failure is logged; when it is back everything
// goes, and the waits are short again.
func TestFollow(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	var busy atomic.Bool
	busy.Store(true)
	gate := httptest.NewServer(front(t, server, func(w http.ResponseWriter, _ *http.Request) bool {
		if busy.Load() {
			w.Header().Set("Retry-After", "17")
			http.Error(w, "one moment, "+archivetest.Token, http.StatusServiceUnavailable)
		}
		return busy.Load()
	}))
	t.Cleanup(gate.Close)
	l := newLaptop(t, gate.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 50))
	var log strings.Builder
	pusher := archive.NewPusher(archive.Config{Store: l.store, Server: l.connect(t), Log: slog.New(slog.NewTextHandler(&log, nil))})
	ctx, cancel := context.WithCancel(t.Context())
	var waits []time.Duration
	pusher.Follow(ctx, archive.Pace{Wait: func(_ context.Context, d time.Duration) error {
		waits = append(waits, d)
		switch len(waits) {
		case 8:
			busy.Store(false)
		case 9:
			l.record(t, noise(l.cell, start+1e9, 1e6, 70))
		case 10:
			cancel()
		}
		return ctx.Err()
	}})
	s := time.Second
	assert.Equal(t, []time.Duration{17 * s, 34 * s, 68 * s, 136 * s, 272 * s, 300 * s, 300 * s, 300 * s, 5 * s, 5 * s}, waits)
	l.wantAll(t, server, bucket)
	assert.Equal(t, 1, strings.Count(log.String(), "level=WARN"), log.String())
	assert.Contains(t, log.String(), "takes readings again")
	assert.NotContains(t, log.String(), archivetest.Password)
	assert.NotContains(t, l.state(t).Failure, archivetest.Password)
}
