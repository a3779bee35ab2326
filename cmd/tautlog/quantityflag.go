package main

import (
	"fmt"

	"tautlog/calc/unit"
)

// forceFlag is a flag whose value is a force with its unit, not below zero.
type forceFlag struct{ force *unit.Force }

// Set reads the value.
func (f forceFlag) Set(s string) error {
	v, err := unit.ParseForce(s)
	if err != nil {
		return err
	}
	if v < 0 {
		return fmt.Errorf("%q is below zero", s)
	}
	*f.force = v
	return nil
}

// String prints the value; nothing stands for zero.
func (f forceFlag) String() string {
	if f.force == nil || *f.force == 0 {
		return ""
	}
	return f.force.String()
}

// Type names the kind of value in the help.
func (f forceFlag) Type() string { return "force" }

// unitFlag is a flag whose value is a unit of force.
type unitFlag struct{ unit *unit.ForceUnit }

// Set reads the value.
func (u unitFlag) Set(s string) (err error) {
	*u.unit, err = unit.ParseForceUnit(s)
	return err
}

// String prints the value.
func (u unitFlag) String() string {
	if u.unit == nil {
		return ""
	}
	return string(*u.unit)
}

// Type names the kind of value in the help.
func (u unitFlag) Type() string { return "unit" }
