package web_test

import (
	"bufio"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/rehearse"
)

// event is one event of the stream.
type event struct {
	name string
	data []byte
}

// listen reads the stream until it ends.
func listen(t *testing.T, url string, take func(event) (more bool)) {
	t.Helper()
	res, err := http.Get(url) //nolint:noctx // the test's own limit ends it
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, http.StatusOK, res.StatusCode)
	require.Equal(t, "text/event-stream", res.Header.Get("Content-Type"))
	var e event
	for lines := bufio.NewScanner(res.Body); lines.Scan(); {
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
}

// TestStream listens to a cell that sends a thousand readings a second
// through a pseudo-terminal, and then ends the daemon.
func TestStream(t *testing.T) {
	t.Parallel()
	st := newStation(t, rehearse.Faults{})
	var batches, beats int
	var times []float64
	var first time.Time
	listen(t, st.url("/api/live?cell=River-1"), func(e event) bool {
		switch e.name {
		case "beat":
			beats++
		case "readings":
			if batches == 0 {
				first = time.Now()
			}
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
		return len(times) < 300
	})
	span := time.Since(first).Seconds()
	assert.LessOrEqual(t, float64(batches), 51*span+5, "batches a second")
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
	begin := time.Now()
	st.stop()
	<-ended
	assert.Less(t, time.Since(begin), 4*time.Second, "a stream kept the daemon from ending")
}

// TestStreamTellsOfSilence pulls the plug and listens for the sentence about
// it, and for the one after it is back.
func TestStreamTellsOfSilence(t *testing.T) {
	t.Parallel()
	st := newStation(t, rehearse.Faults{Outages: []rehearse.Outage{{At: time.Second, For: 4 * time.Second}}})
	var said []string
	bad := false
	listen(t, st.url("/api/live"), func(e event) bool {
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
		bad = bad || away
		return !back
	})
	require.True(t, bad, "%q", said)
	t.Logf("%q", said)
}
