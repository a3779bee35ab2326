package main

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

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
func (f rangeFlag[T]) Set(s string) error {
	first, last, two := strings.Cut(s, "..")
	low, err := f.parse(first)
	high := low
	if two && err == nil {
		high, err = f.parse(last)
	}
	switch {
	case err != nil:
		return err
	case low < 0:
		return usagef("a %s cannot be below zero here", f.kind)
	case high < low:
		return usagef("%q: the low end comes first, as LOW..HIGH", s)
	}
	*f.value = steady.Between(low, high)
	return nil
}

// String is empty: there is no default.
func (f rangeFlag[T]) String() string { return "" }

// Type names the kind of value.
func (f rangeFlag[T]) Type() string { return f.kind }

// parsePercent reads a share such as "7%". A bare number is refused: 0.07 and
// 7 are both written for it.
func parsePercent(s string) (float64, error) {
	number, ok := strings.CutSuffix(strings.TrimSpace(s), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	switch {
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
		return 0, fmt.Errorf("%q is not a share: write a plain decimal number and %%, as 7%%", s)
	case !ok:
		return 0, fmt.Errorf("%q is not a share: a bare number is refused, add %% (for example 7%%)", s)
	}
	return v / 100, nil
}

// parseGrade reads a slope such as "10deg" or "18%", the rise over the level
// distance.
func parseGrade(s string) (unit.Angle, error) {
	if strings.HasSuffix(strings.TrimSpace(s), "%") {
		v, err := parsePercent(s)
		return unit.Angle(math.Atan(v)), err
	}
	a, err := unit.ParseAngle(s)
	if errors.Is(err, unit.ErrNoUnit) {
		return 0, fmt.Errorf("%w; or %% for the rise over the level distance", err)
	}
	return a, err
}
