package main

import (
	"cmp"
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"tautlog/calc/gear"
)

// dayFlag is a flag whose value is the day of a pull.
type dayFlag struct{ day string }

// add defines the flag.
func (d *dayFlag) add(f *pflag.FlagSet) {
	f.Var(d, "on", "`day` of the pull, as in 2026-03-14, for ages and inspections; otherwise today")
}

// on is the day; today where none is given.
func (d *dayFlag) on() string { return cmp.Or(d.day, time.Now().Format(time.DateOnly)) }

// Set reads the value.
func (d *dayFlag) Set(s string) error {
	if !gear.Date(s).Known() {
		return fmt.Errorf("%q is not a date: write it as 2026-03-14", s)
	}
	d.day = s
	return nil
}

// String prints the value.
func (d *dayFlag) String() string { return d.day }

// Type names the kind of value in the help.
func (d *dayFlag) Type() string { return "day" }
