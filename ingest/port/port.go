// Package port is a serial line that survives unplugging, and the list of the
// serial lines there are. It alone imports the serial library. It moves bytes
// and knows nothing of what they mean.
package port

import "time"

// DefaultBaud is the rate of a Line that names none.
const DefaultBaud = 115200

// Line says which serial line to open and how: eight data bits, no parity,
// one stop bit, no flow control.
type Line struct {
	Path string `json:"path"`
	Baud int    `json:"baud"` // 115200 when 0
	// DTROff and RTSOff hold these outputs off after the line is opened. Many
	// small boards start again when they see DTR come on.
	DTROff bool `json:"dtr_off,omitempty"`
	RTSOff bool `json:"rts_off,omitempty"`
}

// Event is what happens on a line. Exactly one field besides At is set: bytes
// that arrived, or a change of connection.
type Event struct {
	At    time.Time // when the bytes were read or the change was seen; carries the monotonic clock
	Bytes []byte    // valid until the handler returns
	Up    bool      // the device was opened
	Down  error     // the device went away, or could not be opened (told once per outage); a *Problem
}
