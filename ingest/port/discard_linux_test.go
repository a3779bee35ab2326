package port_test

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
)

// What a device sent while nobody had its line open is left out, and what it
// sends from then on is read.
func TestDiscard(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	m := terminal(t, path)
	heard := follow(t, port.Line{Path: path})
	heard.wantUp(t)
	heard.stop(t)
	old := strings.Repeat("812 old\n", 300)
	_, err := m.WriteString(old)
	require.NoError(t, err)
	fd, err := unix.Open(path, unix.O_RDONLY|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer func() { _ = unix.Close(fd) }()
	require.Eventually(t, func() bool {
		n, err := unix.IoctlGetInt(fd, unix.TIOCINQ)
		return err == nil && n == len(old)
	}, needs.Patience, time.Millisecond, "it waits to be read")

	require.NoError(t, port.Discard(t.Context(), port.Line{Path: path}))
	_, err = m.WriteString("813 new\n")
	require.NoError(t, err)
	f := follow(t, port.Line{Path: path})
	f.wantUp(t)
	var got string
	for len(got) < len("813 new\n") {
		got += string(f.event(t).Bytes)
	}
	assert.Equal(t, "813 new\n", got)
	f.stop(t)

	err = port.Discard(t.Context(), port.Line{Path: path + "-none"})
	var p *port.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, port.Missing, p.Kind)
	assert.Error(t, port.Discard(t.Context(), port.Line{}))
}
