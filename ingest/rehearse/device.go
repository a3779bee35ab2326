package rehearse

import "errors"

// errNoTerminal says that this system has no pseudo-terminals.
var errNoTerminal = errors.New("this operating system has no pseudo-terminals")

// device is the far end of a serial line: where the amplifier puts its bytes.
type device interface {
	// write sends what the line takes at once. The rest is lost, as it is on
	// a serial line whose reader is too slow or not there.
	write(p []byte) (taken int)
	// read gives what was sent to the amplifier since the last time, valid until
	// the next.
	read() []byte
	// plug makes the device appear, unplug makes it go away. Both may be
	// called at any time and any number of times.
	plug() error
	unplug()
}
