package tracefile

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"tautlog/analysis/trace"
)

// cyclesInMemory is how many cycles are held before they go to disk.
const cyclesInMemory = 1 << 16

// Cycles keeps the load cycles of a trace in the order in which they closed.
// A noisy trace has one for every second or third sample: beyond some they go
// to a temporary file, so that memory does not grow with the trace. The zero
// value is ready; Close removes the file.
type Cycles struct {
	memory []trace.Cycle
	file   *os.File
	out    *bufio.Writer
	err    error // the first of writing, told by Each
}

// cycleSize is a cycle on disk: range, mean and count as float64.
const cycleSize = 3 * 8

// Add keeps one more cycle.
func (c *Cycles) Add(y trace.Cycle) {
	if len(c.memory) == cyclesInMemory {
		c.spill()
	}
	c.memory = append(c.memory, y)
}

// spill moves what is in memory to the file.
func (c *Cycles) spill() {
	defer func() { c.memory = c.memory[:0] }()
	if c.err != nil {
		return
	}
	if c.file == nil {
		if c.file, c.err = os.CreateTemp("", "tautlog-cycles-*"); c.err != nil {
			return
		}
		os.Remove(c.file.Name()) // where the system lets it; otherwise Close does
		c.out = bufio.NewWriterSize(c.file, 64<<10)
	}
	for _, y := range c.memory {
		c.write(y)
	}
}

func (c *Cycles) write(y trace.Cycle) {
	var b [cycleSize]byte
	for i, v := range []float64{y.Range, y.Mean, y.Count} {
		binary.LittleEndian.PutUint64(b[8*i:], math.Float64bits(v))
	}
	if _, err := c.out.Write(b[:]); err != nil && c.err == nil {
		c.err = err
	}
}

// Each yields all cycles in order. It ends at the first error of yield.
func (c *Cycles) Each(yield func(trace.Cycle) error) error {
	if c.file != nil {
		if err := c.eachOnDisk(yield); err != nil {
			return err
		}
	}
	if c.err != nil {
		return fmt.Errorf("the load cycles do not fit into the temporary directory: %w; count fewer with --gate", c.err)
	}
	for _, y := range c.memory {
		if err := yield(y); err != nil {
			return err
		}
	}
	return nil
}

func (c *Cycles) eachOnDisk(yield func(trace.Cycle) error) error {
	if c.err == nil {
		c.err = c.out.Flush()
	}
	if c.err == nil {
		_, c.err = c.file.Seek(0, io.SeekStart)
	}
	if c.err != nil {
		return nil // told by Each
	}
	var b [cycleSize]byte
	for in := bufio.NewReaderSize(c.file, 64<<10); ; {
		if _, err := io.ReadFull(in, b[:]); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			c.err = err
			return nil
		}
		v := func(i int) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:])) }
		if err := yield(trace.Cycle{Range: v(0), Mean: v(1), Count: v(2)}); err != nil {
			return err
		}
	}
}

// Close removes what was on disk.
func (c *Cycles) Close() error {
	if c.file == nil {
		return nil
	}
	err := c.file.Close()
	if gone := os.Remove(c.file.Name()); !errors.Is(gone, os.ErrNotExist) {
		err = errors.Join(err, gone)
	}
	return err
}
