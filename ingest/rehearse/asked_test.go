package rehearse_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/wire"
)

// still is a cell that always reads raw.
func still(raw int64, w wire.Config) rehearse.Cell {
	return rehearse.Cell{Name: "River-1", Capacity: 1e12, Rate: 80, Wire: w, Curve: calibrate.Curve{Coefficients: []float64{-float64(raw), 1}}}
}

func noPulls(int) (rehearse.Pull, bool) { return rehearse.Pull{}, false }

// registers is a question to an instrument, and the answer that is expected.
type registers struct {
	c    wire.ModbusConfig
	raw  int64
	want string
}

// allRegisters are all types in all orders from both kinds of registers.
func allRegisters() (all []registers) {
	kinds := map[string]registers{
		"int16": {raw: -12345, want: "-12345"}, "uint16": {raw: 54321, want: "54321"},
		"int32": {raw: -123456789, want: "-123456789"}, "uint32": {raw: 4000000000, want: "4000000000"}, "float32": {raw: -12345, want: "-1234.5"},
	}
	for kind, q := range kinds {
		orders := []string{"ABCD", "CDAB", "BADC", "DCBA"}
		if strings.HasSuffix(kind, "16") {
			orders = []string{"AB", "BA"}
		}
		for i, order := range orders {
			q.c = wire.ModbusConfig{Address: 17, Function: 3 + i%2, Register: 100 * i, Type: kind, Order: order, Unit: wire.Counts}
			if kind == "float32" {
				q.c.Decimals = 1
			}
			all = append(all, q)
		}
	}
	return all
}

// The simulated instrument, asked by pymodbus: values, exceptions, and silence
// where somebody else is meant.
func TestModbusInstrumentAskedByAnotherProgram(t *testing.T) {
	t.Parallel()
	if exec.Command("/usr/bin/python3", "-c", "import pymodbus, serial").Run() != nil {
		needs.Missing(t, "install the packages python3-pymodbus and python3-serial")
	}
	for _, q := range allRegisters() {
		t.Run(q.c.Type+q.c.Order, func(t *testing.T) {
			t.Parallel()
			s := start(t, rehearse.Options{Cell: still(q.raw, wire.Config{Format: wire.Modbus, Modbus: q.c}), Script: noPulls})
			size := 2
			if len(q.c.Order) == 2 {
				size = 1
			}
			questions := []string{
				fmt.Sprintf("17 %d %d %d", q.c.Function, q.c.Register, size),
				fmt.Sprintf("17 %d %d %d", 7-q.c.Function, q.c.Register, size),
				fmt.Sprintf("17 %d %d %d", q.c.Function, q.c.Register+1, size),
				fmt.Sprintf("17 %d %d %d", q.c.Function, q.c.Register, size),
			}
			want := []string{q.want, "exception 1", "exception 2", q.want}
			if q.c.Type == "int32" && q.c.Order == "ABCD" { // pymodbus waits for seconds
				questions = append(questions, fmt.Sprintf("18 %d %d %d", q.c.Function, q.c.Register, size))
				want = append(want, "nothing")
			}
			assert.Equal(t, want, askedByPymodbus(t, s.Path, questions, q.c))
		})
	}
}

func askedByPymodbus(t *testing.T, path string, questions []string, c wire.ModbusConfig) []string {
	t.Helper()
	ask := exec.Command("/usr/bin/python3", "-B", "../../testdata/sender/ask_registers.py", path)
	ask.Stderr = os.Stderr
	for i, q := range questions {
		questions[i] = q + " " + c.Type + " " + c.Order + "\n"
	}
	ask.Stdin = strings.NewReader(strings.Join(questions, ""))
	out, err := ask.Output()
	require.NoError(t, err)
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}

// A cell that is asked with a string answers each time, once, with the reading
// of the moment, and says nothing else; over a pipe as over a terminal.
func TestStringsAreAnswered(t *testing.T) {
	t.Parallel()
	for name, pipe := range ways {
		for _, echo := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, echo %v", name, echo), func(t *testing.T) {
				t.Parallel()
				c := wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 1, SeqColumn: 2, Unit: wire.Counts}, Ask: wire.Ask{Poll: `W?\r`, Echo: echo}}
				s := start(t, rehearse.Options{Cell: still(-42, c), Script: noPulls, Pipe: pipe})
				want := ""
				for i := range 5 {
					if echo {
						want += "W?\r"
					}
					want += fmt.Sprintf("-42,%d\r\n", i)
				}
				assert.Equal(t, want, talk(t, s, []string{"W?\r", "xW", "?\r", "W?\rW?\r", "?\rW?\r"}, len(want)))
			})
		}
	}
}

// An amplifier that has to be started says nothing before, and after it lost
// its power nothing until it is started again.
func TestStartedByAString(t *testing.T) {
	t.Parallel()
	const lostPower = 4 * 80 // readings
	c := wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 1, Unit: wire.Counts}, Ask: wire.Ask{Start: `GO\r`}}
	var mu sync.Mutex
	var sent []int64
	s := start(t, rehearse.Options{Cell: still(7, c), Script: noPulls, Faults: rehearse.Faults{Restarts: []time.Duration{lostPower * time.Second / 80}},
		Sent: func(rs []rehearse.Sample, _ time.Time) {
			mu.Lock()
			defer mu.Unlock()
			sent = append(sent, rs[0].N)
		}})
	const before = 20
	require.Eventually(t, func() bool { return s.Stats().Readings > before }, needs.Patience, 10*time.Millisecond)
	assert.Regexp(t, `^(7\r\n){3}`, talk(t, s, []string{"G", "O\r"}, 9))
	require.Eventually(t, func() bool { return s.Stats().Readings > lostPower+40 }, needs.Patience, 10*time.Millisecond)
	mu.Lock()
	assert.GreaterOrEqual(t, sent[0], int64(before), "nothing went out before it was started")
	assert.Equal(t, int64(lostPower-1), sent[len(sent)-1], "nor since it lost its power")
	mu.Unlock()
	assert.Regexp(t, `^(7\r\n){3}`, talk(t, s, []string{"GO\r"}, 9))
}

// talk sends strings to a session, one after the other, and gives what comes
// back until that is n bytes long.
func talk(t *testing.T, s *rehearse.Session, say []string, n int) string {
	t.Helper()
	var got bytes.Buffer
	ctx, cancel := context.WithTimeout(context.Background(), needs.Patience)
	defer cancel()
	require.NoError(t, s.Follow(ctx, s.Line(), func(e port.Event) {
		if e.Up {
			for _, line := range say {
				assert.NoError(t, e.Send([]byte(line)))
			}
		}
		if got.Write(e.Bytes); got.Len() >= n {
			cancel()
		}
	}))
	return got.String()
}
