package unit

import (
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// ErrNoUnit says that a quantity was given as a bare number.
var ErrNoUnit = errors.New("no unit")

// ErrUnknownUnit says that the letters behind the number are no unit of the
// wanted quantity.
var ErrUnknownUnit = errors.New("unknown unit")

// ErrNumber says that what stands before the unit is not a finite number.
var ErrNumber = errors.New("not a number")

// ParseError is a refused quantity. Its text is meant for people: it repeats
// what was given and lists what would be accepted.
type ParseError struct {
	Quantity string   // what was wanted: "force", "mass"
	Input    string   // what was given
	Units    []string // accepted units, in the order in which to offer them
	Reason   error    // ErrNoUnit, ErrUnknownUnit or ErrNumber
}

// Error says what was refused and what to write instead.
func (e *ParseError) Error() string {
	wanted, units := words.Say("unit.a."+e.Quantity), strings.Join(e.Units, ", ")
	switch {
	case errors.Is(e.Reason, ErrNoUnit):
		return words.Say("unit.bare", e.Input, wanted, units, strings.TrimSpace(e.Input)+e.Units[0])
	case e.asForce() != "":
		return words.Say("unit.asforce", e.Input, e.asForce())
	case errors.Is(e.Reason, ErrUnknownUnit):
		return words.Say("unit.unknown", e.Input, wanted, units)
	default:
		return words.Say("unit.number", e.Input, wanted, units)
	}
}

// asForce is what to write where a mass was given for a force, as it is stamped
// on much gear: "5000kgf" for "5000 kg". It is empty otherwise.
func (e *ParseError) asForce() string {
	text := strings.ToLower(strings.TrimSpace(e.Input))
	if e.Quantity == "force" && errors.Is(e.Reason, ErrUnknownUnit) && (strings.HasSuffix(text, "kg") || strings.HasSuffix(text, "lb")) {
		number := strings.TrimSpace(text[:numberEnd(text)])
		return number + text[len(text)-2:] + "f"
	}
	return ""
}

// Unwrap gives the reason, so that errors.Is works on it.
func (e *ParseError) Unwrap() error { return e.Reason }

type scale struct {
	name  string
	value float64
}

// The first unit of each list is the one offered as an example.
var (
	forceScales = []scale{
		{"kN", 1000}, {"N", 1}, {"MN", 1e6}, {"kgf", float64(KilogramForce)}, {"t", float64(TonneForce)},
		{"tf", float64(TonneForce)}, {"lbf", float64(PoundForce)}, {"daN", 10},
	}
	massScales      = []scale{{"kg", 1}, {"t", 1000}, {"g", 0.001}, {"lb", 0.45359237}}
	lengthScales    = []scale{{"m", 1}, {"mm", 0.001}, {"cm", 0.01}, {"km", 1000}, {"ft", 0.3048}, {"in", 0.0254}}
	speedScales     = []scale{{"km/h", 1000.0 / 3600}, {"m/s", 1}, {"mph", 0.44704}, {"kph", 1000.0 / 3600}}
	angleScales     = []scale{{"deg", math.Pi / 180}, {"°", math.Pi / 180}, {"rad", 1}}
	stiffnessScales = []scale{{"kN/m", 1000}, {"N/m", 1}, {"N/mm", 1000}, {"kgf/m", float64(KilogramForce)}, {"lbf/ft", float64(PoundForce) / 0.3048}}
)

// ParseForce reads a force such as "12kN", "500 kgf" or "4.75t" (tonne-force).
func ParseForce(s string) (Force, error) {
	v, err := parse("force", s, forceScales)
	return Force(v), err
}

// fractions are those that shackles are stamped with: "4 3/4 t", "4-3/4 t", "3/4 t".
var fractions = regexp.MustCompile(`^(?:(\d+)[ -])?([1-9])/([2-9])`)

// ParseStamped reads a force as it is stamped on gear, where kg and lb stand for
// the weight of that mass ("8000kg" is 8000 kgf) and a number may have a fraction
// ("4 3/4 t"): common practice, no source. Everywhere else both are refused.
func ParseStamped(s string) (Force, error) {
	text := strings.TrimSpace(s)
	if m := fractions.FindStringSubmatch(text); m != nil {
		whole, _ := strconv.ParseFloat("0"+m[1], 64) // digits alone
		text = strconv.FormatFloat(whole+float64(m[2][0]-'0')/float64(m[3][0]-'0'), 'f', -1, 64) + text[len(m[0]):]
	}
	v, err := ParseForce(text)
	var refused *ParseError
	if errors.As(err, &refused) {
		if as := refused.asForce(); as != "" {
			return ParseForce(as)
		}
		refused.Input = s
	}
	return v, err
}

// ParseMass reads a mass such as "3200kg" or "3.2t".
func ParseMass(s string) (Mass, error) { v, err := parse("mass", s, massScales); return Mass(v), err }

// ParseLength reads a length such as "9m" or "30ft".
func ParseLength(s string) (Length, error) {
	v, err := parse("length", s, lengthScales)
	return Length(v), err
}

// ParseSpeed reads a speed such as "8km/h".
func ParseSpeed(s string) (Speed, error) {
	v, err := parse("speed", s, speedScales)
	return Speed(v), err
}

// ParseAngle reads an angle such as "10deg".
func ParseAngle(s string) (Angle, error) {
	v, err := parse("angle", s, angleScales)
	return Angle(v), err
}

// ParseStiffness reads a stiffness such as "60kN/m".
func ParseStiffness(s string) (Stiffness, error) {
	v, err := parse("stiffness", s, stiffnessScales)
	return Stiffness(v), err
}

func parse(quantity, s string, scales []scale) (float64, error) {
	refuse := func(reason error) error {
		names := make([]string, len(scales))
		for i, sc := range scales {
			names[i] = sc.name
		}
		return &ParseError{Quantity: quantity, Input: s, Units: names, Reason: reason}
	}
	text := strings.TrimSpace(s)
	cut := numberEnd(text)
	if cut == 0 {
		return 0, refuse(ErrNumber)
	}
	number, err := strconv.ParseFloat(text[:cut], 64)
	if err != nil || math.IsInf(number, 0) {
		return 0, refuse(ErrNumber)
	}
	name := strings.TrimSpace(text[cut:])
	if name == "" {
		return 0, refuse(ErrNoUnit)
	}
	factor, ok := lookUp(name, scales)
	if !ok {
		return 0, refuse(ErrUnknownUnit)
	}
	value := number * factor
	if math.IsInf(value, 0) {
		return 0, refuse(ErrNumber)
	}
	return value, nil
}

// numberEnd is the length of the leading plain decimal number, with an
// exponent only where digits follow the e.
func numberEnd(s string) int {
	i, digits := 0, 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	for ; i < len(s) && (isDigit(s[i]) || s[i] == '.'); i++ {
		if isDigit(s[i]) {
			digits++
		}
	}
	if digits == 0 {
		return 0
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if j < len(s) && isDigit(s[j]) {
			for i = j; i < len(s) && isDigit(s[i]); i++ {
			}
		}
	}
	return i
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// lookUp finds the unit as written; failing that without regard to case, but
// only where that is unambiguous (kn for kN, but never mN for MN).
func lookUp(name string, scales []scale) (float64, bool) {
	for _, sc := range scales {
		if sc.name == name {
			return sc.value, true
		}
	}
	if name == "mN" || name == "mn" || name == "Mm" {
		return 0, false
	}
	for _, sc := range scales {
		if strings.EqualFold(sc.name, name) {
			return sc.value, true
		}
	}
	return 0, false
}
