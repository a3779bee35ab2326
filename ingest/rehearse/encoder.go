package rehearse

import (
	"math"

	"tautlog/ingest/wire"
)

// Encoder turns samples into the bytes that the cell sends, counting frames
// or lines and its own time as an amplifier does.
type Encoder struct {
	cell    Cell
	sent    int64 // readings since power-up
	seq     int64 // frames or lines since power-up
	pending []int32
}

// NewEncoder makes the encoder of a cell that has just been powered up.
func NewEncoder(c Cell) *Encoder { return &Encoder{cell: c} }

// Unit is the number of readings that leave the cell together.
func (c Cell) Unit() int {
	if c.Wire.Format != wire.Packed {
		return 1
	}
	return int(orElse(float64(c.PerFrame), 10))
}

// tick is what the cell's own clock says at its nth reading since power-up.
func (c Cell) tick(n int64) uint32 {
	return uint32(uint64(math.Round(float64(n) * 1e6 / c.Rate)))
}

// Append appends the bytes that go out with this sample: none while a frame
// is filling.
func (e *Encoder) Append(dst []byte, s Sample) []byte {
	tick := e.cell.tick(e.sent)
	e.sent++
	if e.cell.Wire.Format != wire.Packed {
		r := wire.Reading{Raw: s.Raw, Tick: tick, Timed: true, Mark: s.Mark}
		e.seq++
		return wire.AppendLine(dst, e.cell.Wire.Text, r, e.seq-1)
	}
	e.pending = append(e.pending, clampInt32(s.Raw))
	if len(e.pending) < e.cell.Unit() {
		return dst
	}
	interval := 1e6 / e.cell.Rate
	first := tick - uint32(math.Round(interval))*uint32(len(e.pending)-1)
	dst = wire.AppendFrame(dst, wire.Frame{
		Seq: uint16(e.seq), Tick: first, Interval: uint16(math.Round(interval)), Readings: e.pending,
	})
	e.seq++
	e.pending = e.pending[:0]
	return dst
}

// Restart is a new power-up: counts and time begin again, and what had not
// gone out is lost.
func (e *Encoder) Restart() { e.sent, e.seq, e.pending = 0, 0, e.pending[:0] }

func clampInt32(v int64) int32 { return int32(max(math.MinInt32, min(math.MaxInt32, v))) }
