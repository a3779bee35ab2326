package web_test

import (
	"bufio"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// event is one event of the stream.
type event struct {
	name string
	data []byte
}

// listen reads the stream until it ends, in good order.
func listen(t *testing.T, url string, take func(event) (more bool)) {
	t.Helper()
	res, err := http.Get(url) //nolint:noctx // the test's own limit ends it
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, http.StatusOK, res.StatusCode)
	require.Equal(t, "text/event-stream", res.Header.Get("Content-Type"))
	var e event
	lines := bufio.NewScanner(res.Body)
	for lines.Scan() {
		name, value, _ := strings.Cut(lines.Text(), ": ")
		switch name {
		case "event":
			e.name = value
		case "data":
			e.data = []byte(value)
		case "":
			if !take(e) {
				return
			}
		}
	}
	assert.NoError(t, lines.Err(), "the stream was cut off")
}

// TestStream listens to a cell that sends a thousand readings a second
// through a pseudo-terminal, and then ends the daemon.
func TestStream(t *testing.T) {
	t.Parallel()
	st := newStation(t)
	var batches, beats int
	var times []float64
	listen(t, st.url("/api/live?cell=River-1"), func(e event) bool {
		switch e.name {
		case "beat":
			beats++
		case "readings":
			batches++
			var r struct {
				T, Low, High []float64
				N            []int
				Force, State string
			}
			require.NoError(t, json.Unmarshal(e.data, &r))
			for i := range r.T {
				assert.LessOrEqual(t, r.Low[i], r.High[i])
				assert.LessOrEqual(t, r.N[i], 13, "10 ms at 1 kHz")
			}
			assert.NotEmpty(t, r.Force)
			assert.NotEmpty(t, r.State)
			times = append(times, r.T...)
		}
		return len(times) < 300 || beats == 0
	})
	assert.LessOrEqual(t, 3*batches, 2*len(times), "two batches bring three columns at least: a browser is told no more often than it can draw")
	assert.IsIncreasing(t, times)
	assert.InDelta(t, 10, (times[len(times)-1]-times[0])/float64(len(times)-1), 0.5, "a column each 10 ms, none missing")
	assert.Positive(t, beats)
	res, err := http.Get(st.url("/cells/River-1")) //nolint:noctx // the test's own limit ends it
	require.NoError(t, err)
	page := read(t, res)
	assert.Contains(t, page, "What the line has carried today")
	assert.Regexp(t, `<td>-?[\d.]+ kN to -?[\d.]+ kN</td><td>[\d.]+ (ms|s|min)</td><td>\d+</td>`, page)

	ended := make(chan struct{})
	hello := make(chan struct{})
	go func() {
		defer close(ended)
		listen(t, st.url("/api/live"), func(e event) bool {
			if e.name == "hello" {
				close(hello)
			}
			return true
		})
	}()
	<-hello
	st.stop() // a stream that kept the daemon from ending would be cut off
	<-ended
}

// TestStreamTellsOfSilence pulls the plug and listens for the sentence about
// it, and for the one after it is back.
func TestStreamTellsOfSilence(t *testing.T) {
	t.Parallel()
	st := newStation(t)
	var said []string
	heard, bad := false, false
	listen(t, st.url("/api/live"), func(e event) bool {
		if e.name == "readings" && !heard {
			heard = true
			st.unplug(t)
		}
		if e.name != "status" {
			return true
		}
		var s struct {
			Cell, Sentence, State string
		}
		require.NoError(t, json.Unmarshal(e.data, &s))
		assert.Equal(t, "River-1", s.Cell)
		said = append(said, s.Sentence)
		away := s.State == "No reading now. The number is the last one that came."
		back := bad && s.State == ""
		if away && !bad {
			bad = true
			st.replug(t)
		}
		return !back
	})
	require.True(t, bad, "%q", said)
	t.Logf("%q", said)
}
