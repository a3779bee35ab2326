package gear

import (
	"math"
	"slices"

	"tautlog/calc/unit"
)

// Thread is the size of a metric thread: "M12".
type Thread string

// PropertyClass is the strength of a bolt as marked on its head: "8.8".
type PropertyClass string

// Steel is a grade of structural steel: "S235".
type Steel string

// threadSize is what is needed of one thread, in millimetres.
type threadSize struct {
	name     Thread
	diameter float64
	pitch    float64 // coarse
	flats    float64 // across the flats of head and nut
}

// threadSizes lists metric coarse threads. Diameter and pitch: ISO 261, from
// memory, confirmed for M8 to M20 by the stress areas printed in ISO 898-1.
// Across flats: ISO 4017, from memory.
func threadSizes() []threadSize {
	return []threadSize{
		{"M8", 8, 1.25, 13}, {"M10", 10, 1.5, 16}, {"M12", 12, 1.75, 18}, {"M14", 14, 2, 21}, {"M16", 16, 2, 24},
		{"M18", 18, 2.5, 27}, {"M20", 20, 2.5, 30}, {"M22", 22, 2.5, 34}, {"M24", 24, 3, 36},
	}
}

// Threads lists the sizes that are known, in the order in which to offer them.
func Threads() []Thread {
	var out []Thread
	for _, s := range threadSizes() {
		out = append(out, s.name)
	}
	return out
}

// UnmarshalText reads a thread size and refuses one that is not known.
func (x *Thread) UnmarshalText(b []byte) error {
	return word(x, b, "size", append(Threads(), ""))
}

func (x Thread) size() (threadSize, bool) {
	i := slices.IndexFunc(threadSizes(), func(s threadSize) bool { return s.name == x })
	if i < 0 {
		return threadSize{}, false
	}
	return threadSizes()[i], true
}

// StressArea is the area of a thread that counts in tension, in mm²:
// π/4 · (d − 0.9382 P)², ISO 898-1. A nil pitch is that of the coarse thread.
// It is 0 for a size that is not known.
func (x Thread) StressArea(pitch *unit.Length) float64 {
	s, ok := x.size()
	if !ok {
		return 0
	}
	p := s.pitch
	if pitch != nil {
		p = float64(*pitch) * 1000
	}
	d := s.diameter - 0.9382*p
	return math.Pi / 4 * d * d
}

// boltClass is what EN 1993-1-8 counts with for one property class.
type boltClass struct {
	name   PropertyClass
	fub    float64 // nominal ultimate strength, MPa
	alphaV float64 // of the shear resistance with the thread in the plane
}

// boltClasses lists the property classes of EN 1993-1-8 Table 3.4 with their
// nominal strengths (Table 3.1; those of 8.8 and 10.9 read, the others are
// the first figure of the class times 100, which is what the mark means).
// Class 12.9 is not covered by that standard: it is counted as 10.9.
func boltClasses() []boltClass {
	return []boltClass{
		{"4.6", 400, 0.6}, {"4.8", 400, 0.5}, {"5.6", 500, 0.6}, {"5.8", 500, 0.5}, {"6.8", 600, 0.5},
		{"8.8", 800, 0.6}, {"10.9", 1000, 0.5}, {"12.9", 1000, 0.5},
	}
}

// PropertyClasses lists the classes in the order in which to offer them.
func PropertyClasses() []PropertyClass {
	var out []PropertyClass
	for _, c := range boltClasses() {
		out = append(out, c.name)
	}
	return out
}

// UnmarshalText reads a property class and refuses one that is not known.
func (x *PropertyClass) UnmarshalText(b []byte) error {
	return word(x, b, "class", append(PropertyClasses(), ""))
}

func (x PropertyClass) class() (boltClass, bool) {
	i := slices.IndexFunc(boltClasses(), func(c boltClass) bool { return c.name == x })
	if i < 0 {
		return boltClass{}, false
	}
	return boltClasses()[i], true
}

// Steels lists the grades in the order in which to offer them.
func Steels() []Steel { return []Steel{"S235", "S275", "S355"} }

// UnmarshalText reads a grade of steel and refuses one that is not known.
func (x *Steel) UnmarshalText(b []byte) error {
	return word(x, b, "steel", append(Steels(), ""))
}

// ultimate is the nominal ultimate strength in MPa, 0 where it is not known:
// EN 1993-1-1 Table 3.1, from memory.
func (x Steel) ultimate() float64 {
	return map[Steel]float64{"S235": 360, "S275": 430, "S355": 490}[x]
}
