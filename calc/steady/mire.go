package steady

import (
	"strings"

	"tautlog/calc/words"
)

// Mire is how deep a vehicle sits in mud.
type Mire string

// The depths of the army recovery manuals.
const (
	NoMire     Mire = "none"
	WheelDeep  Mire = "wheel"
	FenderDeep Mire = "fender"
	CabDeep    Mire = "cab" // or turret
)

// Mires lists the depths in order.
func Mires() []Mire { return []Mire{NoMire, WheelDeep, FenderDeep, CabDeep} }

// Words says the depth: "to the wheels".
func (m Mire) Words() string {
	switch m {
	case WheelDeep:
		return words.Say("steady.depth.wheel")
	case FenderDeep:
		return words.Say("steady.depth.fender")
	case CabDeep:
		return words.Say("steady.depth.cab")
	}
	return words.Say("steady.not-at-all")
}

// ParseMire reads the name of a depth.
func ParseMire(s string) (Mire, error) {
	var names []string
	for _, m := range Mires() {
		if string(m) == s {
			return m, nil
		}
		names = append(names, string(m))
	}
	return "", words.Error("steady.mire.unknown", s, strings.Join(names, ", "))
}

// Factor is how many times the vehicle's weight, with its cargo, the mire
// resists. FROM MEMORY, of US Army FM 4-30.31 and FM 9-43-2; the same rule
// stands in a course sheet that gives no numbers. It panics on a depth that
// is not one of Mires; the empty one is none.
func (m Mire) Factor() float64 {
	switch m {
	case NoMire, "":
		return 0
	case WheelDeep:
		return 1
	case FenderDeep:
		return 2
	case CabDeep:
		return 3
	}
	panic("steady: unknown depth of mire " + string(m))
}
