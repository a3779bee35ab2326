package port

import (
	"errors"
	"io/fs"
	"runtime"
	"slices"
	"syscall"

	"go.bug.st/serial"

	"tautlog/calc/words"
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
		return words.Say("port.missing", path)
	case Denied:
		return words.Say("port.denied", path, permissionHint())
	case Busy:
		return words.Say("port.busy", path)
	case NoSerial:
		return words.Say("port.noserial", path)
	case BadBaud:
		return words.Say("port.badbaud", path, p.Line.mode().BaudRate)
	case Gone:
		return words.Say("port.gone", path)
	}
	return words.Say("port.cannot", path, p.Err)
}

// Unwrap gives what the system said.
func (p *Problem) Unwrap() error { return p.Err }

func permissionHint() string {
	if runtime.GOOS == "linux" {
		return words.Say("port.denied.linux")
	}
	return words.Say("port.denied.ask")
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
		return words.Error("port.nopath")
	}
	if l.Baud < 0 {
		return words.Error("port.rate", l.Baud, l.Path)
	}
	if l.Frame != "" && !slices.Contains(Frames(), l.Frame) {
		return words.Error("port.frame", l.Frame, l.Path, Frames())
	}
	return nil
}
