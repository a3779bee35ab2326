package main

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/listen"
	"tautlog/ingest/port"
)

// newCells is the command that lists serial ports and listens to one.
func newCells() *cobra.Command {
	var (
		line     port.Line
		duration time.Duration
		asJSON   bool
		saved    savedCell
		asked    askedCell
		frame    string
	)
	c := &cobra.Command{
		Use:   "cells",
		Short: "List serial ports; listen to one and say how it could be read",
		Long: `Without --listen, lists the serial ports of this computer.

With --listen PORT, listens to that port, shows what it sends and proposes how
to read it. Without --baud it tries the usual speeds until what comes can be
read. A proposal is a guess from what was sent: put a known load on the cell and
compare before you rely on it.

An instrument that answers only when it is asked is asked with --poll, or by
--modbus; one that has to be started gets --start.

With --save NAME as well, sets the cell up in the store, so that "tautlog serve"
and "tautlog record" can record it.`,
		Example: `  tautlog cells
  tautlog cells --listen /dev/ttyUSB0 --baud 9600 --for 10s
  tautlog cells --listen /dev/ttyUSB0 --baud 9600 --poll 'W\r' --every 100ms --save River-1
  tautlog cells --listen /dev/ttyUSB0 --baud 19200 --frame 8E1 --modbus 1:0:int32:CDAB --unit N --every 50ms --save River-1
  tautlog cells --listen /dev/ttyUSB0 --save River-1 --capacity 100kN --curve -3248,4`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%s takes no %q; to listen to a port: tautlog cells --listen PORT", c.CommandPath(), args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			if err := checkCellsFlags(c, line, duration); err != nil {
				return err
			}
			if line.Path == "" {
				return listPorts(c.OutOrStdout(), asJSON)
			}
			line.Frame = port.Frame(frame)
			config, err := asked.config()
			if err != nil {
				return err
			}
			h, err := listen.For(c.Context(), listen.Options{
				Line: line, Wire: config, Remark: func(s string) { fmt.Fprintln(c.ErrOrStderr(), s) },
			}, duration)
			if err != nil {
				return err
			}
			show := c.OutOrStdout()
			if asJSON {
				err, show = writeJSON(show, recordHearing(h)), c.ErrOrStderr()
			} else {
				err = writeHearing(show, recordHearing(h))
			}
			if err == nil && saved.Name != "" {
				err = saved.save(c.Context(), h, show)
			}
			return err
		},
	}
	f := c.Flags()
	f.StringVar(&line.Path, "listen", "", "`port` to listen to, such as /dev/ttyUSB0 or COM3")
	f.IntVar(&line.Baud, "baud", 0, "`rate` that is set on the instrument; the usual ones are tried when not given")
	f.StringVar(&frame, "frame", "", "data bits, parity and stop bits: 8N1, 8E1, 8O1, 8N2, 7E1 or 7O1")
	f.BoolVar(&line.DTROff, "dtr-off", false, "hold the output DTR off")
	f.BoolVar(&line.RTSOff, "rts-off", false, "hold the output RTS off")
	f.DurationVar(&duration, "for", 5*time.Second, "`time` to listen, such as 10s")
	f.BoolVar(&asJSON, "json", false, "print one JSON document")
	asked.add(f)
	saved.add(f)
	return c
}

func checkCellsFlags(c *cobra.Command, l port.Line, d time.Duration) error {
	if !c.Flags().Changed("listen") {
		for _, name := range []string{"baud", "for", "dtr-off", "rts-off", "save", "data", "capacity", "curve", "uncertainty-percent",
			"frame", "as", "start", "poll", "modbus", "function", "unit", "decimals", "every", "timeout", "proposal"} {
			if c.Flags().Changed(name) {
				return usagef("--%s goes with --listen PORT; the ports are listed by: tautlog cells", name)
			}
		}
		return nil
	}
	switch {
	case l.Path == "":
		return usagef("--listen wants the name of a port; the ports are listed by: tautlog cells")
	case l.Baud < 0 || l.Baud == 0 && c.Flags().Changed("baud"):
		return usagef("--baud %d is no rate: give the one that is set on the instrument, such as 115200", l.Baud)
	case d <= 0 || d > time.Hour:
		return usagef("--for %v: listen for more than nothing and at most an hour, such as 10s", d)
	}
	return nil
}

// writeJSON prints the one document of a command.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

type portsRecord struct {
	Ports []port.Info `json:"ports"`
}

func listPorts(w io.Writer, asJSON bool) error {
	ports, err := port.List()
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(w, portsRecord{Ports: append([]port.Info{}, ports...)})
	}
	return writePorts(w, ports, port.Hidden())
}

func writePorts(w io.Writer, ports []port.Info, hidden error) error {
	p := printer{w: w}
	switch {
	case len(ports) == 0 && hidden != nil:
		p.line("no serial port is open to you; %v", hidden)
		return p.err
	case len(ports) == 0:
		p.line("there is no serial port on this computer: plug in the cell's amplifier or its USB adapter and look again")
		return p.err
	}
	for _, i := range ports {
		p.line("%s", i.Path)
		if says := i.Says(); says != "" {
			p.line("    %s", says)
		}
		if i.Stable != "" {
			p.line("    keeps the name %s", i.Stable)
		}
		if i.Problem != "" {
			p.line("    %s", i.Problem)
		}
	}
	p.line("")
	p.line("see what one sends: tautlog cells --listen %s", ports[0].Path)
	return p.err
}

// printer prints lines and keeps the first error.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}
