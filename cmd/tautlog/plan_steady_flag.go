package main

import (
	"fmt"
	"strconv"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// surfaceFlag is a flag whose value is the name of a surface.
type surfaceFlag struct{ surface **steady.Surface }

// Set finds the surface.
func (f surfaceFlag) Set(s string) error {
	found, err := steady.SurfaceNamed(s)
	if err != nil {
		return err
	}
	*f.surface = &found
	return nil
}

// String is empty: there is no default.
func (f surfaceFlag) String() string { return "" }

// Type names the kind of value.
func (f surfaceFlag) Type() string { return "name" }

// mireFlag is a flag whose value is a depth of mire.
type mireFlag struct{ mire *steady.Mire }

// Set reads the depth.
func (f mireFlag) Set(s string) (err error) { *f.mire, err = steady.ParseMire(s); return err }

// String prints the depth.
func (f mireFlag) String() string {
	if f.mire == nil {
		return ""
	}
	return string(*f.mire)
}

// Type names the kind of value.
func (f mireFlag) Type() string { return "depth" }

// layerFlag is a flag whose value is a layer of line on a drum.
type layerFlag int

// Set reads the layer.
func (f *layerFlag) Set(s string) error {
	if s == "full" {
		*f = steady.FullDrum
		return nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > steady.LastLayer() {
		return fmt.Errorf("%q is no layer of the drum: write 1 to %d, or full", s, steady.LastLayer())
	}
	*f = layerFlag(n)
	return nil
}

// String prints the layer.
func (f *layerFlag) String() string {
	if *f == steady.FullDrum {
		return "full"
	}
	return strconv.Itoa(int(*f))
}

// Type names the kind of value.
func (f *layerFlag) Type() string { return "layer" }

// anglesFlag is a flag that may be given several times, each with an angle.
type anglesFlag struct{ angles *[]unit.Angle }

// Set adds an angle.
func (f anglesFlag) Set(s string) error {
	a, err := unit.ParseAngle(s)
	if err == nil {
		*f.angles = append(*f.angles, a)
	}
	return err
}

// String is empty: there is no default.
func (f anglesFlag) String() string { return "" }

// Type names the kind of value.
func (f anglesFlag) Type() string { return "angle" }

// rangeFlag is a flag whose value is a quantity, or two with ".." between
// them, not below zero.
type rangeFlag[T ~float64] struct {
	kind  string
	value *steady.Range[T]
	parse func(string) (T, error)
}

// Set reads the range.
func (f rangeFlag[T]) Set(s string) (err error) {
	*f.value, err = steady.ParseRange(s, f.kind, f.parse)
	return err
}

// String is empty: there is no default.
func (f rangeFlag[T]) String() string { return "" }

// Type names the kind of value.
func (f rangeFlag[T]) Type() string { return f.kind }
