package main

import (
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"tautlog/ingest/listen"
	"tautlog/ingest/wire"
)

// askedCell is how a cell is to be asked and read, where a person says so.
type askedCell struct {
	as, start, poll, modbus, unit string
	function, decimals            int
	every, timeout                time.Duration
}

func (a *askedCell) add(f *pflag.FlagSet) {
	f.StringVar(&a.as, "as", "", "read by this `setting`, as a proposal shows it, instead of proposing one")
	f.StringVar(&a.start, "start", "", "`string` that starts the instrument, such as 'S\\r\\n' or '\\x02'; sent again after plugging in")
	f.StringVar(&a.poll, "poll", "", "`string` that asks for one reading, such as 'W\\r'")
	f.StringVar(&a.modbus, "modbus", "", "ask by Modbus RTU: `ADDRESS:REGISTER:TYPE[:ORDER]`, such as 1:0:float32:CDAB; registers count from 0")
	f.IntVar(&a.function, "function", 3, "Modbus function: 3 holding registers, 4 input registers")
	f.StringVar(&a.unit, "unit", wire.Counts, "what a Modbus register holds: counts or a `unit` of force")
	f.IntVar(&a.decimals, "decimals", 0, "decimals of that unit in one step, or to which a float is kept")
	f.DurationVar(&a.every, "every", 0, "`time` from one request to the next, such as 50ms; as fast as it answers when 0")
	f.DurationVar(&a.timeout, "timeout", 500*time.Millisecond, "`time` that an answer may take")
}

// config is the way of reading that the flags give; its Format is empty where
// one is to be proposed.
func (a *askedCell) config() (c wire.Config, err error) {
	asking := listen.Asking{As: a.as, Start: a.start, Poll: a.poll, Every: a.every, Timeout: a.timeout}
	if a.modbus != "" {
		if asking.Registers, err = a.registers(); err != nil {
			return c, err
		}
	}
	if c, err = asking.Config(); err != nil {
		return c, usagef("%v", err)
	}
	return c, nil
}

// registers reads ADDRESS:REGISTER:TYPE[:ORDER].
func (a *askedCell) registers() (*listen.Registers, error) {
	parts := strings.Split(a.modbus, ":")
	if len(parts) < 3 || len(parts) > 4 {
		return nil, usagef("--modbus %q: write ADDRESS:REGISTER:TYPE[:ORDER], such as 1:0:float32:CDAB", a.modbus)
	}
	c := listen.Registers{Function: a.function, Type: parts[2], Unit: a.unit, Decimals: a.decimals}
	if len(parts) == 4 {
		c.Order = parts[3]
	}
	for i, at := range []*int{&c.Address, &c.Register} {
		var err error
		if *at, err = strconv.Atoi(parts[i]); err != nil {
			return nil, usagef("--modbus %q: %q is not a number; registers count from 0, so that 40001 is 0", a.modbus, parts[i])
		}
	}
	return &c, nil
}
