// Package port is a serial line that survives unplugging, and the list of the
// serial lines there are. It alone imports the serial library. It moves bytes
// and knows nothing of what they mean.
package port

import "time"

// DefaultBaud is the rate of a Line that names none.
const DefaultBaud = 115200

// Frame says how a byte is framed on a line: data bits, parity, stop bits.
type Frame string

// The frames.
const (
	Frame8N1 Frame = "8N1" // also when empty
	Frame8E1 Frame = "8E1"
	Frame8O1 Frame = "8O1"
	Frame8N2 Frame = "8N2"
	Frame7E1 Frame = "7E1"
	Frame7O1 Frame = "7O1"
)

// Frames are all frames, the usual one first.
func Frames() []Frame {
	return []Frame{Frame8N1, Frame8E1, Frame8O1, Frame8N2, Frame7E1, Frame7O1}
}

// Line says which serial line to open and how. There is no flow control.
type Line struct {
	Path  string `json:"path"`
	Baud  int    `json:"baud"`            // 115200 when 0
	Frame Frame  `json:"frame,omitempty"` // 8N1 when empty
	// DTROff and RTSOff hold these outputs off after the line is opened. Many
	// small boards start again when they see DTR come on.
	DTROff bool `json:"dtr_off,omitempty"`
	RTSOff bool `json:"rts_off,omitempty"`
}

// Send sends bytes to the device that was opened, until that goes away; then,
// and where the device takes no bytes for a quarter of a second, it fails. Any
// goroutine may call it.
type Send func(p []byte) error

// Silence is how long three and a half characters take, which is what parts
// the frames of Modbus RTU ("MODBUS over Serial Line V1.02", 2.5.1.1: 11 bits a
// character, and 1.75 ms at more than 19200 baud).
func (l Line) Silence() time.Duration {
	baud := l.mode().BaudRate
	if baud > 19200 {
		return 1750 * time.Microsecond
	}
	return time.Duration(3.5 * 11 / float64(baud) * 1e9)
}

// Event is what happens on a line: bytes that arrived, or a change of
// connection.
type Event struct {
	At    time.Time // when the bytes were read or the change was seen; carries the monotonic clock
	Bytes []byte    // valid until the handler returns
	Since time.Time // the first of the bytes may have arrived as early as this; zero: at At
	Up    bool      // the device was opened
	Send  Send      // comes with Up
	Down  error     // the device went away, or could not be opened (told once per outage); a *Problem
}
