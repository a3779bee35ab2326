package needs

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Amplifier is testdata/sender at work: a cell that shares no code with the
// program, in a process of its own.
type Amplifier struct {
	Link string // where its line is

	t                       testing.TB
	truth                   string
	hold                    io.Closer // its standard input
	started, unheard, ended word
}

// word is what the instrument says once, with the moment of which it says it.
type word struct {
	said chan struct{} // closed when it was
	at   time.Time
}

func newWord() word { return word{said: make(chan struct{})} }

// Sender starts testdata/sender at link: a hundred thousand readings, unless
// args say otherwise. The test has to be of a package two directories down.
func Sender(t testing.TB, link string, args ...string) *Amplifier {
	t.Helper()
	a := &Amplifier{Link: link, t: t, truth: link + ".truth", started: newWord(), unheard: newWord(), ended: newWord()}
	args = append([]string{"-B", "../../testdata/sender/send_frames.py", "--link", link, "--truth", a.truth, "--count", "100000"}, args...)
	c := exec.Command(Python(t, "python3"), args...)
	c.Stderr = os.Stderr
	var err error
	a.hold, err = c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	plugIn(t, link, c, func() { a.listen(out) })
	return a
}

// listen takes what the instrument says, until it ends.
func (a *Amplifier) listen(out io.Reader) {
	words := map[string]*word{"start": &a.started, "unheard": &a.unheard, "end": &a.ended}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		var name string
		var ns int64
		if _, err := fmt.Sscan(lines.Text(), &name, &ns); err == nil && words[name] != nil {
			words[name].at = time.Unix(0, ns)
			close(words[name].said)
			delete(words, name)
		}
	}
}

// Started waits until somebody has opened the line, and gives the moment from
// which on readings are sent.
func (a *Amplifier) Started() time.Time {
	a.t.Helper()
	return a.started.await(a.t, "nobody opened the line of the instrument")
}

// Unheard waits until something was lost because nobody had the line open, of
// an instrument that was started with --lose-unheard.
func (a *Amplifier) Unheard() {
	a.t.Helper()
	a.unheard.await(a.t, "the instrument lost nothing")
}

// End waits until everything is sent and read, and gives the moment.
func (a *Amplifier) End() time.Time {
	a.t.Helper()
	return a.ended.await(a.t, "the instrument did not come to its end")
}

// Ended is closed when everything is sent and read.
func (a *Amplifier) Ended() <-chan struct{} { return a.ended.said }

// GoOn lets an instrument that was started with --hold-at go on.
func (a *Amplifier) GoOn() {
	a.t.Helper()
	require.NoError(a.t, a.hold.Close())
}

func (w *word) await(t testing.TB, problem string) time.Time {
	t.Helper()
	select {
	case <-w.said:
	case <-time.After(Patience):
		require.Fail(t, problem)
	}
	return w.at
}

// Sent is what the instrument says of one reading.
type Sent struct {
	Index, Seq int
	Tick       uint32
	Raw        int64
	There      bool      // the device was there
	Clean      bool      // nothing of it was damaged
	At         time.Time // when its frame was written
}

// Truth reads what was sent, in its order. It is complete when everything is.
func (a *Amplifier) Truth() []Sent {
	a.t.Helper()
	f, err := os.Open(a.truth)
	require.NoError(a.t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(a.t, err)
	require.Equal(a.t, []string{"index", "seq", "tick_us", "raw", "sent", "clean", "unix_ns"}, rows[0])
	all := make([]Sent, 0, len(rows))
	for _, row := range rows[1:] {
		var n [7]int64
		for i := range n {
			n[i], err = strconv.ParseInt(row[i], 10, 64)
			require.NoError(a.t, err)
		}
		all = append(all, Sent{int(n[0]), int(n[1]), uint32(n[2]), n[3], n[4] == 1, n[5] == 1, time.Unix(0, n[6])})
	}
	return all
}
