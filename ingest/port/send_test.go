//go:build unix

package port_test

import (
	"bytes"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
)

func TestSendReachesTheDevice(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	var sends []port.Send
	f := follow(t, port.Line{Path: path})
	f.wantDown(t, port.Missing)
	for range 2 {
		m := terminal(t, path)
		e := f.next(t)
		require.True(t, e.Up)
		require.NotNil(t, e.Send)
		for _, gone := range sends {
			assert.Error(t, gone([]byte("late")), "what was opened before is open no more")
		}
		sends = append(sends, e.Send)
		sent := []byte("\x02W\r\n\x00\xff\x03")
		require.NoError(t, e.Send(sent))
		got := make([]byte, len(sent))
		_, err := io.ReadFull(m, got)
		require.NoError(t, err)
		assert.Equal(t, sent, got, "nothing is cooked on the way")
		require.NoError(t, m.Close())
		f.wantDown(t, port.Gone)
	}
	f.stop(t)
}

// A device that takes nothing must not hold up the line, nor its end.
func TestSendGivesUpWhereNothingIsTaken(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	terminal(t, path) // nobody reads there
	f := follow(t, port.Line{Path: path})
	e := f.next(t)
	require.True(t, e.Up)
	require.Eventually(t, func() bool { return e.Send(bytes.Repeat([]byte("W"), 1000)) != nil }, needs.Patience, time.Millisecond)
	assert.Empty(t, f.stop(t))
}

func TestFrames(t *testing.T) {
	t.Parallel()
	for _, frame := range port.Frames() {
		path := filepath.Join(t.TempDir(), "cell")
		m := terminal(t, path)
		f := follow(t, port.Line{Path: path, Baud: 9600, Frame: frame})
		f.wantUp(t)
		_, err := m.WriteString("12.3\r\n")
		require.NoError(t, err)
		f.wantBytes(t, "12.3\r\n")
		f.stop(t)
	}
	assert.ErrorContains(t, port.Follow(t.Context(), port.Line{Path: "x", Frame: "9N1"}, nil), `"9N1" is no way to frame`)
	assert.InDelta(t, 4.01e-3, port.Line{Baud: 9600}.Silence().Seconds(), 0.01e-3, "3.5 characters of 11 bits")
	assert.Equal(t, 1750*time.Microsecond, port.Line{Baud: 115200}.Silence())
}
