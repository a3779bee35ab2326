package listen

import (
	"encoding/json"
	"slices"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// Registers are those that an instrument is asked for by Modbus RTU.
type Registers = wire.ModbusConfig

// Asking is how a person says that an instrument is to be asked or read. The
// zero value: it sends by itself, and how to read it is proposed.
type Asking struct {
	As             string        // the setting by which it is read, as the JSON of a wire.Config; empty: proposed
	Start, Poll    string        // as in wire.Ask
	Registers      *Registers    // nil: not asked by Modbus
	Every, Timeout time.Duration // as in wire.Ask
}

// Config is the way of reading that is meant; its Format is empty where one is
// to be proposed. The error says what cannot be meant.
func (a Asking) Config() (c wire.Config, err error) {
	if a.As != "" {
		if err := json.Unmarshal([]byte(a.As), &c); err != nil {
			return c, words.Error("listen.setting", a.As, err)
		}
	}
	if a.Registers != nil {
		c.Format, c.Modbus = wire.Modbus, *a.Registers
	}
	if a.Start != "" || a.Poll != "" || a.Registers != nil {
		c.Ask = wire.Ask{Start: a.Start, Poll: a.Poll, Every: a.Every.Seconds() * 1000, Timeout: a.Timeout.Seconds() * 1000}
	}
	check := c
	if check.Format == "" { // what it will be if it is polled
		check.Format, check.Text = wire.Text, wire.TextConfig{Column: 1, Unit: wire.Counts}
	}
	return c, check.Validate()
}

// At is a serial line as a person names it. The usual speeds are tried where
// baud is 0.
func At(path string, baud int, frame string) (port.Line, error) {
	l := port.Line{Path: path, Baud: baud, Frame: port.Frame(frame)}
	if frame != "" && !slices.Contains(port.Frames(), l.Frame) {
		return l, words.Error("listen.frame", frame)
	}
	return l, nil
}

// Port is a serial port of this computer.
type Port = port.Info

// Ports are the serial ports of this computer, USB devices first.
func Ports() ([]Port, error) { return port.List() }

// Hidden is why a built-in port may be missing among Ports; nil: none is.
func Hidden() error { return port.Hidden() }
