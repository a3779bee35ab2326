package unit

import (
	"math"
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// ForceUnit is a unit that a person may choose for forces.
type ForceUnit string

// The units in which forces are read and shown.
const (
	Newton        ForceUnit = "N"
	Kilonewton    ForceUnit = "kN"
	TonneF        ForceUnit = "t" // tonne-force
	KilogramF     ForceUnit = "kgf"
	PoundF        ForceUnit = "lbf"
	DefaultShown            = Kilonewton
	shownByChoice           = "kN, t, kgf, lbf, N"
)

// ParseForceUnit reads the name of a force unit ("kN", "t", "kgf", "lbf", "N").
func ParseForceUnit(s string) (ForceUnit, error) {
	for _, u := range []ForceUnit{Newton, Kilonewton, TonneF, KilogramF, PoundF} {
		if string(u) == s {
			return u, nil
		}
	}
	return "", words.Error("unit.force", s, shownByChoice)
}

// Newtons is the size of one such unit. It panics on a unit that did not come
// from this package, which is a programmer's mistake.
func (u ForceUnit) Newtons() Force {
	switch u {
	case Newton:
		return 1
	case Kilonewton:
		return 1000
	case TonneF:
		return TonneForce
	case KilogramF:
		return KilogramForce
	case PoundF:
		return PoundForce
	}
	panic("unit: unknown force unit " + strconv.Quote(string(u)))
}

// In gives the force as a number of u.
func (f Force) In(u ForceUnit) float64 { return float64(f) / float64(u.Newtons()) }

// Show prints the force in u with as many digits as step, the force that the
// last digit should stand for, allows. A step of zero prints three
// significant digits.
func (f Force) Show(u ForceUnit, step Force) string {
	return number(f.In(u), Place(step.In(u))) + " " + string(u)
}

// Told prints the force in u down to p, or with three significant digits where
// p is 0.
func (f Force) Told(u ForceUnit, p Place) string { return number(f.In(u), p) + " " + string(u) }

// ToldBelow is Told for the low end of an interval: it is rounded down.
func (f Force) ToldBelow(u ForceUnit, p Place) string {
	return number(p.below(f.In(u)), p) + " " + string(u)
}

// ToldAbove is Told for the high end of an interval: it is rounded up.
func (f Force) ToldAbove(u ForceUnit, p Place) string {
	return number(p.above(f.In(u)), p) + " " + string(u)
}

// ShowTwo prints a force that is a part of an interval, or noise, with two
// significant digits.
func (f Force) ShowTwo(u ForceUnit) string { return f.Told(u, f.PlaceTwo(u)) }

// PlaceTwo is the place of the second digit of a force in u; 0 of none.
func (f Force) PlaceTwo(u ForceUnit) Place {
	if v := f.In(u); v != 0 {
		return digitAt(v, 2)
	}
	return 0
}

// Percent prints a share of a limit, "61 %": whole, and with the decimals that it
// takes where rounding would hide on which side of 100 % it lies.
func Percent(share float64) string {
	v, p := 100*share, Place(1)
	for i := 0; i < mostApart && side(v, 100, 1e-7) != side(p.near(v), 100, float64(p)/2); i++ {
		p /= 10
	}
	return words.Say("unit.percent", number(v, p))
}

// String prints the force in kN with three significant digits.
func (f Force) String() string { return f.Show(Kilonewton, 0) }

// String prints the mass in tonnes from 1000 kg on, below that in kilograms.
func (m Mass) String() string {
	if math.Abs(float64(m)) >= 1000 {
		return number(float64(m)/1000, 0) + " t"
	}
	return number(float64(m), 0) + " kg"
}

// String prints the length in metres.
func (l Length) String() string { return number(float64(l), 0) + " m" }

// String prints the speed in km/h, as a driver reads it.
func (s Speed) String() string { return number(float64(s)*3.6, 0) + " km/h" }

// String prints the angle in degrees.
func (a Angle) String() string { return number(a.Degrees(), 0) + "°" }

// String prints the stiffness in kN/m.
func (k Stiffness) String() string { return number(float64(k)/1000, 0) + " kN/m" }

// ShowInterval prints a measured force with its interval in words that can be
// read out: "47.3 kN (true peak 46.9 to 52.1)". What names the quantity. The
// digits follow the width of the interval (see placeOf), whose ends are rounded
// outwards.
func ShowInterval(what string, f, low, high Force, u ForceUnit) string {
	value, interval := IntervalParts(what, f, low, high, IntervalPlace(f, low, high, u), u)
	return words.Say("unit.between", value, interval)
}

// IntervalPlace is the place of the last digit of ShowInterval; 0 where an
// interval has no width.
func IntervalPlace(f, low, high Force, u ForceUnit) Place {
	return placeOf((high-low).In(u)/2, f.In(u), low.In(u), high.In(u))
}

// IntervalParts are the two parts of ShowInterval, to be set apart: the force, and
// its interval in words, "true peak 46.9 to 52.1". The last digit is the caller's:
// IntervalPlace, or that of the column that the force stands in.
func IntervalParts(what string, f, low, high Force, last Place, u ForceUnit) (force, interval string) {
	return partsBetween(what, f.In(u), low.In(u), high.In(u), last, string(u))
}

// ShowTimes prints a ratio with its interval in words, "2.4 times (true factor
// 2.3 to 2.7)", with digits as in ShowInterval. Without a width it has no
// interval, and without an end it is a lower bound.
func ShowTimes(what string, v, low, high float64) string {
	if math.IsInf(high, 1) {
		return words.Say("unit.times.atleast", number(v, 0.01))
	}
	if low == high {
		return words.Say("unit.times", number(v, 0.01))
	}
	value, interval := partsBetween(what, v, low, high, placeOf((high-low)/2, v, low, high), words.Say("unit.times.name"))
	return words.Say("unit.between", value, interval)
}

func partsBetween(what string, v, low, high float64, p Place, name string) (value, interval string) {
	return words.Say("unit.value", number(v, p), name), words.Say("unit.interval", what, number(p.below(low), p), number(p.above(high), p))
}

// ShowHalf prints a measured force with half the width of its interval:
// "82.20 ± 0.27 kN". The digits follow that half, as in ShowInterval; it is
// rounded up, so that what is told holds all of the interval.
func ShowHalf(f, half Force, u ForceUnit) string {
	return showHalf(f.In(u), math.Abs(half.In(u)), string(u))
}

// ShowWithin is ShowHalf where half of the interval is known, and the plain
// force where it is 0: that of a pull that an older program measured.
func ShowWithin(f, half Force, u ForceUnit) string {
	if half == 0 {
		return f.Show(u, 0)
	}
	return ShowHalf(f, half, u)
}

func showHalf(v, h float64, name string) string {
	p := placeOf(h, v)
	for {
		// What rounding moves the middle by is the half's to hold too.
		told := p.above(h + math.Abs(p.near(v)-v))
		if p == 0 || p >= digit(told, 2) {
			return words.Say("unit.within", number(v, p), number(told, p), name)
		}
		p *= 10
	}
}

// ShowSeconds prints a measured time with half the width of its interval, below
// a second in milliseconds: "310 ± 12 ms". The digits follow that half, as in
// ShowHalf; a half of 0 is not known and left out.
func ShowSeconds(s, half float64) string {
	name := "s"
	if math.Abs(s) < 1 {
		s, half, name = s*1000, half*1000, "ms"
	}
	if half == 0 {
		return words.Say("unit.value", number(s, 0), name)
	}
	return showHalf(s, math.Abs(half), name)
}

// ShowRange prints a force that is known only between two ends, with a value
// between them: "3.1 to 12.6 kN (middle 7.8)". What names that value. The
// digits are as in ShowInterval.
func ShowRange(low, high Force, what string, f Force, u ForceUnit) string {
	p := IntervalPlace(f, low, high, u)
	return words.Say("unit.range", number(p.below(low.In(u)), p), number(p.above(high.In(u)), p), u, what, number(f.In(u), p))
}

// number prints v down to step, or to three significant digits where step is
// not positive, without an exponent.
func number(v float64, step Place) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return words.Say("unit.nan")
	}
	decimals := 0
	switch {
	case step > 0:
		decimals = int(math.Ceil(-math.Log10(float64(step)) - 1e-9))
	case v != 0:
		decimals = 2 - int(math.Floor(math.Log10(math.Abs(v))))
	}
	if decimals < 0 {
		p := math.Pow(10, float64(-decimals))
		v, decimals = math.Round(v/p)*p, 0
	}
	s := strconv.FormatFloat(v, 'f', min(decimals, 9), 64)
	if step <= 0 && strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}
