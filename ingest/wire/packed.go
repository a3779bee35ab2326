package wire

import (
	"bytes"
	"encoding/binary"

	"tautlog/analysis/trace"
)

// The frame, little-endian throughout: version u8, sequence u16, tick of the
// first reading u32 in µs, interval u16 in µs, count u8, count × int32, CRC
// u16 of all before it.
const (
	frameVersion = 1
	headSize     = 10
	crcSize      = 2
	maxCount     = 255
	maxFrame     = headSize + 4*maxCount + crcSize
	maxStuffed   = maxFrame + maxFrame/254 + 1
)

// packedDecoder reads frames that end at a zero byte. Whatever happened, the
// frame after the next zero byte is read again.
type packedDecoder struct {
	stuffed  []byte // a frame whose end has not come yet
	skipping bool   // too long: up to the next zero, nothing counts
	synced   bool   // a zero byte was seen
	frame    [maxStuffed]byte
	seq      uint16
	tick     uint32
	counted  bool // seq and tick hold
	lost     bool // the next reading follows a hole
	stats    Stats
	rejected []byte
}

func (d *packedDecoder) Reset() {
	d.stuffed, d.skipping, d.synced, d.counted, d.lost = d.stuffed[:0], false, false, false, false
}

func (d *packedDecoder) Expect() { d.stuffed, d.skipping = d.stuffed[:0], false }

func (d *packedDecoder) Stats() Stats { return d.stats }

func (d *packedDecoder) LastRejected() []byte { return bytes.Clone(d.rejected) }

func (d *packedDecoder) Complaint() string { return "" }

func (d *packedDecoder) Decode(dst []Reading, p []byte) []Reading {
	d.stats.Bytes += uint64(len(p))
	for {
		i := bytes.IndexByte(p, 0)
		if i < 0 {
			d.keep(p)
			return dst
		}
		dst = d.end(dst, p[:i])
		p = p[i+1:]
	}
}

// keep holds on to the beginning of a frame.
func (d *packedDecoder) keep(p []byte) {
	if d.skipping {
		return
	}
	room := maxStuffed - len(d.stuffed)
	if len(p) <= room {
		d.stuffed = append(d.stuffed, p...)
		return
	}
	d.reject(append(d.stuffed, p[:room]...))
	d.skipping = true
}

// end completes a frame with its last bytes.
func (d *packedDecoder) end(dst []Reading, p []byte) []Reading {
	if d.skipping || len(d.stuffed) > 0 || len(p) > maxStuffed {
		d.keep(p)
		p = d.stuffed
	}
	if !d.skipping && len(p) > 0 {
		dst = d.take(dst, p)
	}
	d.stuffed, d.skipping, d.synced = d.stuffed[:0], false, true
	return dst
}

// take reads one complete frame.
func (d *packedDecoder) take(dst []Reading, stuffed []byte) []Reading {
	f, ok := unstuff(d.frame[:0], stuffed)
	if !ok || !sound(f) {
		d.reject(stuffed)
		return dst
	}
	d.count(f)
	d.stats.Units++
	return d.readings(dst, f)
}

// reject drops a frame. Before the first zero byte of a stream that is a
// frame that began before anyone listened, and no fault.
func (d *packedDecoder) reject(stuffed []byte) {
	if !d.synced {
		d.stats.Partial++
		return
	}
	d.stats.Rejected++
	d.rejected = append(d.rejected[:0], stuffed...)
}

// sound reports whether version, length and CRC of a frame are right.
func sound(f []byte) bool {
	return len(f) >= headSize+crcSize && f[0] == frameVersion &&
		len(f) == headSize+4*int(f[9])+crcSize &&
		crc16(f[:len(f)-crcSize]) == binary.LittleEndian.Uint16(f[len(f)-crcSize:])
}

// count follows the sequence. A step ahead is that many frames lost; a step
// back, or around the wrap while the tick went back, is an instrument that
// has started again, which hides how many are missing.
func (d *packedDecoder) count(f []byte) {
	seq, tick := binary.LittleEndian.Uint16(f[1:]), binary.LittleEndian.Uint32(f[3:])
	if missing := seq - d.seq - 1; d.counted && missing != 0 {
		d.lost = true
		restarted := missing >= 1<<15 || seq < d.seq && int32(tick-d.tick) < 0
		if !restarted {
			d.stats.Lost += uint64(missing)
		}
	}
	d.seq, d.tick, d.counted = seq, tick, true
}

// readings appends the readings of a sound frame. Several readings without an
// interval carry no tick: they cannot all have been taken at once.
func (d *packedDecoder) readings(dst []Reading, f []byte) []Reading {
	interval, n := uint32(binary.LittleEndian.Uint16(f[7:])), int(f[9])
	timed := interval > 0 || n == 1
	d.stats.Readings += uint64(n)
	tick := d.tick
	for body := f[headSize : headSize+4*n]; len(body) >= 4; body = body[4:] {
		r := Reading{Raw: int64(int32(binary.LittleEndian.Uint32(body))), Tick: tick, Timed: timed}
		if d.lost {
			r.Mark, d.lost = trace.Lost, false
		}
		dst = append(dst, r)
		tick += interval
	}
	return dst
}
