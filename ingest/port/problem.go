package port

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"slices"
	"syscall"

	"go.bug.st/serial"
)

// Kind is why a line is not there.
type Kind string

// The kinds.
const (
	Missing  Kind = "missing"  // there is no device of that name
	Denied   Kind = "denied"   // the user may not open it
	Busy     Kind = "busy"     // another program has it
	NoSerial Kind = "noserial" // it is not a serial device
	BadBaud  Kind = "baud"     // it does not know the rate
	Gone     Kind = "gone"     // it was open and went away
	Other    Kind = "other"    // anything else the system says
)

// Problem is a line that is not there. Its text says what, where and what to
// do.
type Problem struct {
	Line Line
	Kind Kind
	Err  error // what the system said
}

// Error is a sentence for the person at the device.
func (p *Problem) Error() string {
	path := p.Line.Path
	switch p.Kind {
	case Missing:
		return fmt.Sprintf("there is no device at %s: plug it in, or look up its name with: tautlog cells", path)
	case Denied:
		return fmt.Sprintf("no permission to open %s: %s", path, permissionHint())
	case Busy:
		return fmt.Sprintf("%s is in use by another program: close that program", path)
	case NoSerial:
		return fmt.Sprintf("%s is not a serial device: look up the right name with: tautlog cells", path)
	case BadBaud:
		return fmt.Sprintf("%s cannot work at %d baud: give the rate that is set on the instrument", path, p.Line.mode().BaudRate)
	case Gone:
		return fmt.Sprintf("the device at %s went away: check plug, cable and power; it is taken up again when it is back", path)
	}
	return fmt.Sprintf("%s cannot be opened (%v): unplug it and plug it in again", path, p.Err)
}

// Unwrap gives what the system said.
func (p *Problem) Unwrap() error { return p.Err }

func permissionHint() string {
	if runtime.GOOS == "linux" {
		return "add yourself to the dialout group (sudo usermod -aG dialout $USER) and log in again"
	}
	return "ask for the right to use serial ports on this computer"
}

// problem finds the kind of an error of opening.
func problem(l Line, err error) *Problem {
	return &Problem{Line: l, Kind: kindOf(err), Err: err}
}

func kindOf(err error) Kind {
	if e, ok := errors.AsType[*serial.PortError](err); ok {
		switch e.Code() {
		case serial.PortBusy:
			return Busy
		case serial.PortNotFound:
			return Missing
		case serial.PermissionDenied:
			return Denied
		case serial.InvalidSpeed:
			return BadBaud
		case serial.InvalidSerialPort:
			return NoSerial
		}
	}
	switch {
	case errors.Is(err, errLocked), errors.Is(err, syscall.EBUSY):
		return Busy
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return Missing
	case errors.Is(err, fs.ErrPermission):
		return Denied
	}
	return Other
}

// errLocked says that another tautlog follows the line.
var errLocked = errors.New("locked by another process")

func (l Line) validate() error {
	if l.Path == "" {
		return errors.New("no serial port given: give its name, such as /dev/ttyUSB0 (tautlog cells lists them)")
	}
	if l.Baud < 0 {
		return fmt.Errorf("%d baud is no rate for %s: give the rate that is set on the instrument, such as 115200", l.Baud, l.Path)
	}
	if l.Frame != "" && !slices.Contains(Frames(), l.Frame) {
		return fmt.Errorf("%q is no way to frame bytes on %s: use one of %v", l.Frame, l.Path, Frames())
	}
	return nil
}
