package listen

import (
	"context"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// set is an instrument that is set to one speed and frame: at others its
// bytes are garbage. It stands in for a line, because a pseudo-terminal knows
// no speed.
type set struct {
	baud  int
	frame port.Frame
	lines func(i int) string // nil: it sends nothing
	seen  []string
}

func (s *set) follow(ctx context.Context, l port.Line, handle func(port.Event)) error {
	s.seen = append(s.seen, fmt.Sprint(l.Baud, l.Frame))
	handle(port.Event{At: time.Now(), Up: true, Send: func([]byte) error { return nil }})
	for i := 0; ; i++ {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(100 * time.Millisecond):
		}
		if s.lines == nil {
			continue
		}
		bytes := []byte(s.lines(i))
		if l.Baud != s.baud || l.Frame != s.frame {
			for i := range bytes {
				bytes[i] = bytes[i]<<3 ^ 0x9c
			}
		}
		handle(port.Event{At: time.Now(), Bytes: bytes})
	}
}

func TestSearchFindsTheSpeed(t *testing.T) {
	t.Parallel()
	for _, s := range []*set{{baud: 115200}, {baud: 9600}, {baud: 1200}, {baud: 19200, frame: port.Frame8E1}} {
		synctest.Test(t, func(t *testing.T) {
			s.lines = func(i int) string { return fmt.Sprintf("ST,%d.%d kN\r\n", i%7, i%10) }
			var said []string
			h, err := For(t.Context(), Options{Line: port.Line{Path: "x"}, Follow: s.follow, Remark: func(r string) { said = append(said, r) }}, 3*time.Second)
			require.NoError(t, err)
			assert.Equal(t, s.baud, h.Line.Baud)
			assert.Equal(t, s.frame, h.Line.Frame)
			assert.Len(t, said, len(s.seen))
			p := h.Proposals()
			require.NotEmpty(t, p)
			assert.Equal(t, "kN", p[0].Config.Text.Unit)
			assert.InDelta(t, 10, p[0].PerS, 1)
			assert.NotEmpty(t, h.Sent(wire.Text))
		})
	}
}

func TestSearchGivesWhatItHeardWhereNothingCanBeRead(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := &set{baud: 31250, lines: func(int) string { return "12.3\r\n" }}
		h, err := For(t.Context(), Options{Line: port.Line{Path: "x"}, Follow: s.follow}, 3*time.Second)
		require.NoError(t, err)
		assert.Empty(t, h.Proposals())
		assert.Len(t, s.seen, 2*len(Rates()))
		assert.Positive(t, h.Bytes)
	})
}

func TestSilentAtOneSpeedIsSilent(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := &set{}
		_, err := For(t.Context(), Options{Line: port.Line{Path: "x"}, Follow: s.follow}, 3*time.Second)
		assert.ErrorContains(t, err, "x is open at 115200 baud but sent nothing in 3s")
		assert.Len(t, s.seen, 1)
		_, err = For(t.Context(), Options{Line: port.Line{Path: "x"}, Follow: s.follow, Wire: wire.Config{Format: wire.Text, Ask: wire.Ask{Poll: "W"}}}, 3*time.Second)
		assert.ErrorContains(t, err, "did not answer")
		assert.Len(t, s.seen, 1+2*len(Rates()), "it may answer at another speed")
	})
}

func TestNominalRateHasTwoDigits(t *testing.T) {
	t.Parallel()
	for rate, want := range map[float64]float64{998.7: 1000, 80.4: 80, 9.96: 10, 0: 0, -1: 0} {
		assert.InDelta(t, want, nominal(rate), 1e-9, rate)
	}
}

func TestCellOfASetting(t *testing.T) {
	t.Parallel()
	kg := Proposal{PerS: 9.97, Proposal: wire.Proposal{Config: wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 1, Unit: "kgf", Decimals: 1}}}}
	c, err := Setting{Name: "River-1", Capacity: 50_000, RelativePercent: 0.5}.Cell(port.Line{Path: "x"}, kg)
	require.NoError(t, err)
	assert.InDelta(t, 9.80665, float64(c.Curve.Force(10)), 1e-12, "ten tenths of a kilogram")
	assert.Equal(t, 10.0, c.Rate)
	assert.Equal(t, 0.005, c.Curve.Relative95)
	assert.Equal(t, unit.Force(50_000), c.Capacity)

	registers := Proposal{PerS: 3, Proposal: wire.Proposal{Config: wire.Config{
		Format: wire.Modbus, Modbus: wire.ModbusConfig{Address: 1, Type: "int16", Unit: "counts"}, Ask: wire.Ask{Every: 50},
	}}}
	_, err = Setting{Name: "River-2"}.Cell(port.Line{Path: "x"}, registers)
	assert.ErrorContains(t, err, "cell River-2 sends counts")
	c, err = Setting{Name: "River-2", Curve: "-3248, 4"}.Cell(port.Line{Path: "x"}, registers)
	require.NoError(t, err)
	assert.Equal(t, []float64{-3248, 4}, c.Curve.Coefficients)
	assert.Equal(t, 20.0, c.Rate, "as many as are asked for")
	_, err = Setting{Name: "River-2", Curve: "x,4"}.Cell(port.Line{Path: "x"}, registers)
	assert.ErrorContains(t, err, `"x" is not a number`)
}

// What waited for a reader comes in one rush: a pseudo-terminal and some
// adapters keep kilobytes. It says nothing of the rate.
func TestWhatWaitedForAReaderDoesNotCountIntoTheRate(t *testing.T) {
	t.Parallel()
	h := newHearing(Options{Line: port.Line{Path: "x"}})
	line := []byte("ST,1.25 kN\r\n")
	at := time.Unix(0, 0)
	for range 200 { // a rush of four chunks, each with many lines
		h.take(port.Event{At: at, Bytes: line})
	}
	for range 3 {
		at = at.Add(time.Millisecond)
		for range 200 {
			h.take(port.Event{At: at, Bytes: line})
		}
	}
	for range 400 {
		at = at.Add(12500 * time.Microsecond)
		h.take(port.Event{At: at, Bytes: line})
	}
	all := h.Proposals()
	require.NotEmpty(t, all)
	assert.InEpsilon(t, 80, all[0].PerS, 0.01)
	assert.InDelta(t, 5, h.Seconds(), 0.01, "the time it was listened to is told whole")
}
