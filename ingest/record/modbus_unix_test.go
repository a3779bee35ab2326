//go:build unix

package record

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// The tests in this file ask an independent Modbus server,
// testdata/sender/serve_registers.py on Debian's pymodbus, over a pair of
// pseudo-terminals that socat makes.

// wantsPrograms skips, or fails where all checks are wanted, when something
// is missing.
func wantsPrograms(t *testing.T) {
	t.Helper()
	needs.Program(t, "socat", "socat")
	needs.Python(t, "python3-pymodbus and python3-serial-asyncio", "pymodbus", "serial_asyncio")
}

// program is another process, ended with the test at the latest.
type program struct {
	t *testing.T
	c *exec.Cmd
}

func startProgram(t *testing.T, name string, args ...string) (*program, *bufio.Reader) {
	t.Helper()
	c := exec.Command(name, args...)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	p := &program{t, c}
	t.Cleanup(p.kill)
	return p, bufio.NewReader(out)
}

func (p *program) kill() {
	if p.c.ProcessState == nil {
		_ = p.c.Process.Kill()
		_ = p.c.Wait()
	}
}

// wires makes a pair of devices that are each other's far end.
func wires(t *testing.T, ours, theirs string) *program {
	t.Helper()
	p, _ := startProgram(t, "socat", "pty,raw,echo=0,link="+ours, "pty,raw,echo=0,link="+theirs)
	require.Eventually(t, func() bool {
		_, err := os.Stat(ours)
		_, other := os.Stat(theirs)
		return err == nil && other == nil
	}, needs.Patience, 5*time.Millisecond)
	return p
}

// wired is a new line and its ends, where the programs are there.
func wired(t *testing.T) (ours, theirs string, line *program) {
	t.Helper()
	wantsPrograms(t)
	dir := t.TempDir()
	ours, theirs = filepath.Join(dir, "ours"), filepath.Join(dir, "theirs")
	return ours, theirs, wires(t, ours, theirs)
}

// serveRegisters starts the server and waits until it is ready.
func serveRegisters(t *testing.T, device string, args ...string) *program {
	t.Helper()
	p, out := startProgram(t, "/usr/bin/python3", append([]string{"../../testdata/sender/serve_registers.py", device}, args...)...)
	line, err := out.ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "ready\n", line)
	return p
}

// clockCell reads the server's clock: each reading is the moment at which it
// was taken.
func clockCell(device string) store.Cell {
	return store.Cell{
		ID: 1, Name: "River-1", Line: port.Line{Path: device, Baud: 19200}, Curve: calibrate.Curve{Coefficients: []float64{0, 1}},
		Wire: wire.Config{
			Format: wire.Modbus, Modbus: wire.ModbusConfig{Address: 17, Type: "uint32", Unit: "counts"},
			Ask: wire.Ask{Every: 20, Timeout: 150},
		},
		Rate: 50,
	}
}

// recording is a recorder at work, with what it recorded.
type recording struct {
	t   *testing.T
	rec *Recorder

	mu  sync.Mutex
	got []moment
}

type moment struct {
	at, truth time.Time
	mark      trace.Mark
}

func record1(t *testing.T, cell store.Cell) *recording {
	t.Helper()
	r := &recording{t: t, rec: New(Config{Store: newSlate(), Cells: []store.Cell{cell}})}
	r.rec.Observe(func(a Announcement) {
		if a.Readings == nil {
			return
		}
		r.mu.Lock()
		defer r.mu.Unlock()
		for i, ns := range a.Readings.T {
			m := moment{at: time.Unix(0, ns)}
			today := ns / 1e15 * 1e15 // the server's clock is modulo 10^9 ms
			m.truth = time.Unix(0, today+a.Readings.Raw[i]*1e6)
			if a.Readings.Marks != nil {
				m.mark = a.Readings.Marks[i]
			}
			r.got = append(r.got, m)
		}
	})
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- r.rec.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-ended)
	})
	return r
}

// wait waits until n more readings have come, and gives all.
func (r *recording) wait(n int) []moment {
	r.t.Helper()
	all := func() []moment {
		r.mu.Lock()
		defer r.mu.Unlock()
		return append([]moment{}, r.got...)
	}
	from := len(all())
	require.Eventually(r.t, func() bool { return len(all()) >= from+n }, needs.Patience, 10*time.Millisecond, "%+v", r.rec.Statuses())
	return all()
}

// checkTimes wants every reading's time within what the status says.
func (r *recording) checkTimes(all []moment, within time.Duration) {
	r.t.Helper()
	worst := time.Duration(0)
	for i, m := range all {
		worst = max(worst, m.at.Sub(m.truth).Abs())
		if i > 0 {
			assert.True(r.t, m.at.After(all[i-1].at))
		}
	}
	// One millisecond is what the server's clock does not tell, and a good one
	// what the grid may be off.
	assert.LessOrEqual(r.t, worst, within+2200*time.Microsecond)
	r.t.Logf("%d readings, worst %v, half of the longest answer %v", len(all), worst, within)
}

// longest is half of the longest of all times to an answer.
func (r *recording) longest() time.Duration { return r.rec.Statuses()[0].Asked.Within }

func TestModbusTimes(t *testing.T) {
	t.Parallel()
	ours, theirs, _ := wired(t)
	serveRegisters(t, theirs, "--slow", "0.004")
	cell := clockCell(ours)
	cell.Wire.Ask.Timeout = 5000 // an answer after that is taken for one to the next request; a busy machine must not come there
	r := record1(t, cell)
	all := r.wait(60) // fewer than are forgotten for Within
	r.checkTimes(all[:60], r.longest())
}

// The server is killed and started again, and the line is unplugged, while it
// is asked fifty times a second: each time the gap is kept, the first reading
// behind it says so, and times stay right.
func TestModbusServerAndLineComeBack(t *testing.T) {
	t.Parallel()
	ours, theirs, line := wired(t)
	server := serveRegisters(t, theirs)
	cell := clockCell(ours)
	cell.Wire.Ask.Timeout = 1000 // an answer after that is taken for one to the next request
	r := record1(t, cell)
	r.wait(20)

	server.kill()
	require.Eventually(t, func() bool { return r.rec.Statuses()[0].Asked.Missed >= 2 }, needs.Patience, 10*time.Millisecond)
	server = serveRegisters(t, theirs)
	before := len(r.wait(0))
	all := r.wait(20)
	lost := 0
	for _, m := range all[before-min(before, 5):] {
		if m.mark&trace.Lost != 0 {
			lost++
		}
	}
	assert.GreaterOrEqual(t, lost, 1, "the gap is marked")

	line.kill()
	server.kill()
	require.Eventually(t, func() bool { return !r.rec.Statuses()[0].Up }, needs.Patience, 10*time.Millisecond)
	_, _ = os.Remove(ours), os.Remove(theirs)
	wires(t, ours, theirs)
	serveRegisters(t, theirs)
	all = r.wait(20)
	for _, m := range all {
		// However slow a machine, an answer in time is off by half of that time at
		// most, and by what checkTimes knows of.
		assert.Less(t, m.at.Sub(m.truth).Abs(), 503*time.Millisecond)
	}
}

// Every type in every order, from holding and input registers, as pymodbus
// lays them.
func TestModbusTypesOfAnotherServer(t *testing.T) {
	t.Parallel()
	ours, theirs, _ := wired(t)
	serveRegisters(t, theirs)
	cases := []struct {
		c    wire.ModbusConfig
		want int64
	}{
		{wire.ModbusConfig{Register: 70, Type: "int16"}, -12345},
		{wire.ModbusConfig{Register: 71, Type: "int16", Order: "BA"}, -12345},
		{wire.ModbusConfig{Register: 72, Type: "uint16"}, 54321},
	}
	for k, order := range []string{"ABCD", "CDAB", "BADC", "DCBA"} {
		for at, v := range map[int]struct {
			kind string
			want int64
		}{10: {"int32", -123456789}, 30: {"float32", -12345}, 50: {"uint32", 4000000000}} {
			c := wire.ModbusConfig{Register: at + 4*k, Type: v.kind, Order: order}
			if v.kind == "float32" {
				c.Decimals = 1
			}
			cases = append(cases, struct {
				c    wire.ModbusConfig
				want int64
			}{c, v.want})
		}
	}
	for _, c := range cases {
		for _, function := range []int{3, 4} {
			c.c.Address, c.c.Function, c.c.Unit = 17, function, "counts"
			assert.Equal(t, fmt.Sprint([]int64{c.want}), fmt.Sprint(askOnce(t, ours, c.c)), "%+v", c.c)
		}
	}
}

// askOnce opens the line, asks until an answer comes, and gives what came.
func askOnce(t *testing.T, device string, c wire.ModbusConfig) (raw []int64) {
	t.Helper()
	config := wire.Config{Format: wire.Modbus, Modbus: c}
	d, err := wire.New(config)
	require.NoError(t, err)
	ctx, stop := context.WithTimeout(t.Context(), needs.Patience)
	defer stop()
	var asking sync.WaitGroup
	defer asking.Wait()
	require.NoError(t, port.Follow(ctx, port.Line{Path: device, Baud: 19200}, func(e port.Event) {
		if e.Up {
			asking.Go(func() {
				for again := time.NewTicker(time.Second); ctx.Err() == nil; {
					assert.NoError(t, e.Send(config.Request()))
					select {
					case <-ctx.Done():
					case <-again.C: // the server may not have been quite ready
					}
				}
			})
		}
		for _, r := range d.Decode(nil, e.Bytes) {
			raw = append(raw, r.Raw)
			stop()
		}
	}))
	return raw
}

func TestModbusExceptionOfAnotherServer(t *testing.T) {
	t.Parallel()
	ours, theirs, _ := wired(t)
	serveRegisters(t, theirs)
	cell := clockCell(ours)
	cell.Wire.Modbus.Register = 100
	r := record1(t, cell)
	require.Eventually(t, func() bool { return r.rec.Statuses()[0].Problem != "" }, needs.Patience, 50*time.Millisecond)
	assert.Contains(t, r.rec.Statuses()[0].Problem, "exception 2: it has no such register")
	assert.Empty(t, r.wait(0))
}
