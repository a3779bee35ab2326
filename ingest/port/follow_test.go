//go:build unix

package port_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// following is a Follow at work, and what it told.
type following struct {
	events chan port.Event
	cancel context.CancelFunc
	done   chan error
}

func follow(t *testing.T, l port.Line) *following {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	f := &following{events: make(chan port.Event, 1<<16), cancel: cancel, done: make(chan error, 1)}
	go func() {
		f.done <- port.Follow(ctx, l, func(e port.Event) {
			e.Bytes = append([]byte(nil), e.Bytes...)
			f.events <- e
		})
		close(f.events)
	}()
	t.Cleanup(cancel)
	return f
}

// stop ends the Follow and gives the events that were not looked at.
func (f *following) stop(t *testing.T) (rest []port.Event) {
	t.Helper()
	f.cancel()
	select {
	case err := <-f.done:
		require.NoError(t, err)
	case <-time.After(needs.Patience):
		require.Fail(t, "Follow did not end")
	}
	for e := range f.events {
		rest = append(rest, e)
	}
	return rest
}

// event is the next event.
func (f *following) event(t *testing.T) (e port.Event) {
	t.Helper()
	select {
	case e = <-f.events:
	case <-time.After(needs.Patience):
		require.Fail(t, "no event")
	}
	return e
}

// next is the next event that is no bytes.
func (f *following) next(t *testing.T) port.Event {
	t.Helper()
	for {
		if e := f.event(t); len(e.Bytes) == 0 {
			return e
		}
	}
}

func (f *following) wantUp(t *testing.T) {
	t.Helper()
	e := f.next(t)
	require.True(t, e.Up, "%v", e.Down)
	assert.NoError(t, e.Down)
}

func (f *following) wantDown(t *testing.T, k port.Kind) *port.Problem {
	t.Helper()
	e := f.next(t)
	assert.False(t, e.Up)
	var p *port.Problem
	require.ErrorAs(t, e.Down, &p)
	assert.Equal(t, k, p.Kind, "%v: %v", p, p.Err)
	return p
}

// wantBytes reads until the given text has come.
func (f *following) wantBytes(t *testing.T, want string) {
	t.Helper()
	var got strings.Builder
	for !strings.HasSuffix(got.String(), want) {
		e := f.event(t)
		require.NotEmpty(t, e.Bytes, "%+v; got %q, want %q", e, got.String(), want)
		got.Write(e.Bytes)
	}
}

// terminal is a pseudo-terminal behind a link.
func terminal(t *testing.T, link string) (master *os.File) {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { _ = master.Close() })
	require.NoError(t, os.Symlink(slave.Name(), link+".new"))
	require.NoError(t, slave.Close())
	require.NoError(t, os.Rename(link+".new", link))
	return master
}

func TestFollowThroughUnplugging(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	f := follow(t, port.Line{Path: path, DTROff: true, RTSOff: true})
	assert.Equal(t, "there is no device at "+path+": plug it in, or look up its name with: tautlog cells",
		f.wantDown(t, port.Missing).Error())
	for range 3 {
		m := terminal(t, path)
		f.wantUp(t)
		_, err := m.WriteString("12.3\r\n\x00\x03\x04")
		require.NoError(t, err)
		f.wantBytes(t, "12.3\r\n\x00\x03\x04") // nothing is cooked on the way
		require.NoError(t, m.Close())
		assert.ErrorContains(t, f.wantDown(t, port.Gone), "the device at "+path+" went away")
	}
	assert.Empty(t, f.stop(t), "an outage is told once")
}

func TestFollowEndsWhileReading(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	m := terminal(t, path)
	f := follow(t, port.Line{Path: path, Baud: 9600})
	f.wantUp(t)
	_, err := m.WriteString("x")
	require.NoError(t, err)
	f.wantBytes(t, "x")
	assert.Empty(t, f.stop(t), "ending is no outage")
}

func TestFollowLocksTheLine(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	terminal(t, path)
	first := follow(t, port.Line{Path: path})
	first.wantUp(t)
	second := follow(t, port.Line{Path: path})
	assert.Equal(t, path+" is in use by another program: close that program", second.wantDown(t, port.Busy).Error())
	first.stop(t)
	second.wantUp(t)
	second.stop(t)
}

func TestFollowRefusesWhatIsNoDevice(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, []byte("x"), 0o600))
	f := follow(t, port.Line{Path: file})
	f.wantDown(t, port.NoSerial)
	f.stop(t)
	assert.ErrorContains(t, port.Follow(t.Context(), port.Line{}, nil), "no serial port given")
	assert.ErrorContains(t, port.Follow(t.Context(), port.Line{Path: file, Baud: -1}, nil), "-1 baud")
}

// A process of its own plays the device, is killed and starts again at the
// same path.
func TestFollowAProcessThatIsKilled(t *testing.T) {
	t.Parallel()
	socat := needs.Program(t, "socat", "socat")
	path := filepath.Join(t.TempDir(), "cell")
	f := follow(t, port.Line{Path: path})
	f.wantDown(t, port.Missing)
	for round := range 3 {
		c := exec.Command(socat, "-", "pty,raw,echo=0,link="+path)
		in, err := c.StdinPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		f.wantUp(t)
		text := strings.Repeat("line ", round) + "end\r\n"
		_, err = in.Write([]byte(text))
		require.NoError(t, err)
		f.wantBytes(t, text)
		require.NoError(t, c.Process.Kill()) // the link stays and points nowhere
		_ = c.Wait()
		f.wantDown(t, port.Gone)
		require.NoError(t, os.Remove(path))
	}
	assert.Empty(t, f.stop(t))
}
