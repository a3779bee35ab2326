package wire

import (
	"bytes"
	"encoding/binary"
	"math"
	"strconv"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ModbusConfig says which registers of a Modbus RTU instrument hold the
// reading. The protocol is an open standard: "MODBUS Application Protocol
// Specification V1.1b3" (functions 03 and 04, exceptions) and "MODBUS over
// Serial Line V1.02" (RTU frames and their CRC), modbus.org.
type ModbusConfig struct {
	Address  int    `json:"address"`            // of the instrument on the line, 1 to 247
	Function int    `json:"function,omitempty"` // 3 holding registers, also when 0; 4 input registers
	Register int    `json:"register"`           // first register, counted from 0: 40001 and 30001 are 0
	Type     string `json:"type"`               // int16, uint16, int32, uint32 or float32
	// Order says how the bytes A (highest) to D of a value lie in the answer:
	// ABCD (also when empty) as the standard sends single registers, CDAB with
	// the lower register first, BADC and DCBA with the bytes of each register
	// swapped. A value of one register is AB or BA.
	Order    string `json:"order,omitempty"`
	Unit     string `json:"unit"`               // "counts" or a unit of force
	Decimals int    `json:"decimals,omitempty"` // decimals of the unit that one step of Raw stands for
}

// Sizes of Modbus frames and of their parts, in bytes.
const (
	modbusCRC      = 2
	modbusRequest  = 8
	modbusAnswer   = 3 // bytes before the registers
	exceptionBit   = 0x80
	exceptionFrame = 5
	maxModbus      = modbusAnswer + 4 + modbusCRC
)

func (c ModbusConfig) validate() error {
	switch {
	case c.Address < 1 || c.Address > 247:
		return refuse("modbus.address", c.Address, words.Say("wire.hint.modbus.address"))
	case c.Function != 0 && c.Function != 3 && c.Function != 4:
		return refuse("modbus.function", c.Function, words.Say("wire.hint.modbus.function"))
	case c.Register < 0 || c.Register+c.registers() > 1<<16:
		return refuse("modbus.register", c.Register, words.Say("wire.hint.modbus.register"))
	case c.registers() == 0:
		return refuse("modbus.type", c.Type, words.Say("wire.hint.modbus.type"))
	case c.Decimals < 0 || c.Decimals > maxDecimals:
		return refuse("modbus.decimals", c.Decimals, words.Say("wire.hint.modbus.decimals"))
	}
	switch c.Order {
	case "", "ABCD", "CDAB", "BADC", "DCBA":
	case "AB", "BA":
		if c.registers() == 2 {
			return refuse("modbus.order", c.Order, words.Say("wire.hint.modbus.order.two"))
		}
	default:
		return refuse("modbus.order", c.Order, words.Say("wire.hint.modbus.order"))
	}
	if c.Unit != Counts {
		if _, err := unit.ParseForceUnit(c.Unit); err != nil {
			return refuse("modbus.unit", c.Unit, words.Say("wire.hint.unit"))
		}
	}
	return nil
}

// registers is how many registers a value takes; 0 for an unknown type.
func (c ModbusConfig) registers() int {
	switch c.Type {
	case "int16", "uint16":
		return 1
	case "int32", "uint32", "float32":
		return 2
	}
	return 0
}

func (c ModbusConfig) function() byte { return byte(max(3, c.Function)) }

// request appends the frame that asks for the value.
func (c ModbusConfig) request(dst []byte) []byte {
	from := len(dst)
	dst = append(dst, byte(c.Address), c.function())
	dst = binary.BigEndian.AppendUint16(dst, uint16(c.Register))
	dst = binary.BigEndian.AppendUint16(dst, uint16(c.registers()))
	return binary.LittleEndian.AppendUint16(dst, crcModbus(dst[from:]))
}

// AppendAnswer appends the frame with which an instrument answers, holding a
// value of that many bits as they are.
func AppendAnswer(dst []byte, c ModbusConfig, value uint32) []byte {
	from, v := len(dst), c.held(value)
	dst = append(append(dst, byte(c.Address), c.function(), byte(len(v))), v...)
	return binary.LittleEndian.AppendUint16(dst, crcModbus(dst[from:]))
}

// Bits are the bits of the value that stands for a raw reading, clamped to
// the range of the type.
func (c ModbusConfig) Bits(raw int64) uint32 {
	switch c.Type {
	case "int16":
		return uint32(uint16(min(max(raw, math.MinInt16), math.MaxInt16)))
	case "uint16":
		return uint32(min(max(raw, 0), math.MaxUint16))
	case "uint32":
		return uint32(min(max(raw, 0), math.MaxUint32))
	case "float32":
		return math.Float32bits(float32(float64(raw) / math.Pow10(c.Decimals)))
	}
	return uint32(min(max(raw, math.MinInt32), math.MaxInt32))
}

// reorder brings the bytes of a value from the order of the answer into ABCD,
// or back: each of the orders is its own inverse.
func (c ModbusConfig) reorder(v []byte) {
	if c.Order == "BADC" || c.Order == "DCBA" || c.Order == "BA" {
		for i := 0; i+1 < len(v); i += 2 {
			v[i], v[i+1] = v[i+1], v[i]
		}
	}
	if len(v) == 4 && (c.Order == "CDAB" || c.Order == "DCBA") {
		v[0], v[1], v[2], v[3] = v[2], v[3], v[0], v[1]
	}
}

// value makes a reading of the registers of an answer. The ends of the range
// of a whole number are where an instrument stops: they mark an overload. A
// float that is no number, or too large for the decimals, marks an invalid
// reading.
func (c ModbusConfig) value(registers []byte) (raw int64, m trace.Mark) {
	var b [4]byte
	v := b[:len(registers)]
	copy(v, registers)
	c.reorder(v)
	end := func(ends ...int64) trace.Mark {
		for _, e := range ends {
			if raw == e {
				return trace.Overload
			}
		}
		return 0
	}
	switch c.Type {
	case "int16":
		raw = int64(int16(binary.BigEndian.Uint16(v)))
		return raw, end(math.MinInt16, math.MaxInt16)
	case "uint16":
		raw = int64(binary.BigEndian.Uint16(v))
		return raw, end(math.MaxUint16)
	case "int32":
		raw = int64(int32(binary.BigEndian.Uint32(v)))
		return raw, end(math.MinInt32, math.MaxInt32)
	case "uint32":
		raw = int64(binary.BigEndian.Uint32(v))
		return raw, end(math.MaxUint32)
	}
	x := float64(math.Float32frombits(binary.BigEndian.Uint32(v))) * math.Pow10(c.Decimals)
	if !(math.Abs(x) <= maxMantissa) {
		return 0, trace.Invalid
	}
	return int64(math.Round(x)), 0
}

// modbusDecoder finds answers in a stream. It needs no silence between
// frames: an answer is known by its head, its length and its CRC, so that any
// split of the bytes gives the same readings.
type modbusDecoder struct {
	config    ModbusConfig
	request   []byte
	frame     int // length of an answer
	buffer    [maxModbus + modbusRequest]byte
	n         int
	raw       int64
	garbage   bool // the latest byte was refused
	complaint byte // exception code of the latest answer; 0 none
	stats     Stats
	rejected  []byte
}

func newModbusDecoder(c ModbusConfig) *modbusDecoder {
	return &modbusDecoder{config: c, request: c.request(nil), frame: modbusAnswer + 2*c.registers() + modbusCRC}
}

func (d *modbusDecoder) Reset() { d.n, d.garbage = 0, false }

func (d *modbusDecoder) Expect() { d.Reset() }

func (d *modbusDecoder) Stats() Stats { return d.stats }

func (d *modbusDecoder) LastRejected() []byte { return bytes.Clone(d.rejected) }

func (d *modbusDecoder) Decode(dst []Reading, p []byte) []Reading {
	d.stats.Bytes += uint64(len(p))
	for _, b := range p {
		d.buffer[d.n] = b
		d.n++
		for d.n > 0 {
			taken, wait := d.look(d.buffer[:d.n])
			if wait {
				break
			}
			if taken == d.frame {
				dst = d.take(dst)
			}
			d.drop(max(1, taken))
		}
	}
	return dst
}

// look says how many bytes at the start of b are a frame, or that more are
// needed to tell. It is no frame where both are zero.
func (d *modbusDecoder) look(b []byte) (frame int, wait bool) {
	n := d.answerSize(b)
	switch {
	case n > 0 && len(b) >= n && soundModbus(b[:n]):
		return n, false
	case len(b) >= modbusRequest && bytes.Equal(b[:modbusRequest], d.request):
		return modbusRequest, false // the line gives back what was sent
	case n > len(b) || len(b) < modbusRequest && bytes.HasPrefix(d.request, b):
		return 0, true
	}
	return 0, false
}

// answerSize is how long the answer that begins like b is, 0 where no answer
// does.
func (d *modbusDecoder) answerSize(b []byte) int {
	if b[0] != byte(d.config.Address) {
		return 0
	}
	if len(b) < 2 {
		return exceptionFrame
	}
	switch b[1] {
	case d.config.function() | exceptionBit:
		return exceptionFrame
	case d.config.function():
		if len(b) == 2 || int(b[2]) == d.frame-modbusAnswer-modbusCRC {
			return d.frame
		}
	}
	return 0
}

func soundModbus(f []byte) bool {
	end := len(f) - modbusCRC
	return crcModbus(f[:end]) == binary.LittleEndian.Uint16(f[end:])
}

// drop takes n bytes off the buffer, which were a frame if more than one.
func (d *modbusDecoder) drop(n int) {
	switch {
	case n == exceptionFrame && n != d.frame:
		d.complaint = d.buffer[2]
		d.refuse(d.buffer[:n], false)
	case n == 1:
		d.refuse(d.buffer[:1], true)
	default:
		d.garbage = false
	}
	copy(d.buffer[:], d.buffer[n:d.n])
	d.n -= n
}

// refuse counts what is no answer with a reading: bytes that follow each other
// as one.
func (d *modbusDecoder) refuse(b []byte, loose bool) {
	if !loose || !d.garbage {
		d.stats.Rejected++
		d.rejected = d.rejected[:0]
	}
	if d.garbage = loose; len(d.rejected) < maxLine {
		d.rejected = append(d.rejected, b...)
	}
}

func (d *modbusDecoder) take(dst []Reading) []Reading {
	r := Reading{}
	r.Raw, r.Mark = d.config.value(d.buffer[modbusAnswer : d.frame-modbusCRC])
	if r.Mark&trace.Invalid != 0 {
		r.Raw = d.raw
	}
	d.raw, d.complaint = r.Raw, 0
	d.stats.Units++
	d.stats.Readings++
	return append(dst, r)
}

// Complaint is the exception with which the instrument answered last, by the
// table of exception codes of the specification.
func (d *modbusDecoder) Complaint() string {
	if d.complaint == 0 {
		return ""
	}
	why := "wire.exception." + strconv.Itoa(int(d.complaint))
	if !words.Known(why) {
		why = "wire.exception.other"
	}
	return words.Say("wire.exception", d.complaint, words.Say(why))
}

// crcModbus is CRC-16/MODBUS: polynomial 0x8005, start 0xFFFF, reflected.
func crcModbus(data []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range data {
		crc ^= uint16(b)
		for range 8 {
			crc = crc>>1 ^ 0xA001&-(crc&1)
		}
	}
	return crc
}
