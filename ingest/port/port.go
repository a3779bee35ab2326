// Package port is a serial line that survives unplugging. It alone imports
// the serial library. It moves bytes and knows nothing of what they mean.
package port

import (
	"context"
	"time"
)

// Line says which serial line to open and how.
type Line struct {
	Path string `json:"path"`
	Baud int    `json:"baud"` // 115200 when 0
}

// Event is what happens on a line. Exactly one field is set: bytes that
// arrived, or a change of connection.
type Event struct {
	At    time.Time // when the bytes were read or the change was seen; carries the monotonic clock
	Bytes []byte    // valid until the handler returns
	Up    bool      // the device was opened
	Down  error     // the device went away, or could not be opened (told once per outage)
}

// Follow opens the line and hands every event to handle, one at a time, and
// opens it again whenever it has gone, until ctx ends. It returns only after
// the last call of handle has returned.
func Follow(ctx context.Context, l Line, handle func(Event)) error { return nil }
