package calibrate

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Certificate is what the paper that came with a calibration says. Empty and
// 0: not known.
type Certificate struct {
	Number  string     `json:"number"`
	By      string     `json:"by,omitempty"`      // who calibrated
	Date    string     `json:"date,omitempty"`    // of the calibration, 2006-01-02
	Expires string     `json:"expires,omitempty"` // last day on which it holds, 2006-01-02
	Low     unit.Force `json:"low,omitempty"`     // range of forces
	High    unit.Force `json:"high,omitempty"`
	Class   string     `json:"class,omitempty"` // as stated: "ISO 376 class 1"
	// Half the width of the stated 95 % interval, as a fraction of the force
	// and in newtons; where both are given, both count. It comes on top of what
	// the points show: that of the known forces, where there are points, and
	// of the whole curve, where there are none.
	Relative95 float64    `json:"relative_95,omitempty"`
	Absolute95 unit.Force `json:"absolute_95,omitempty"`
}

// check refuses what no certificate can say.
func (c Certificate) check() error {
	for _, d := range []string{c.Date, c.Expires} {
		if _, err := time.Parse(time.DateOnly, d); d != "" && err != nil {
			return words.Error("calibrate.kept.date", ErrKept, d)
		}
	}
	switch {
	case c.Date != "" && c.Expires != "" && c.Expires < c.Date:
		return words.Error("calibrate.kept.expires", ErrKept, c.Expires, c.Date)
	case c.Low < 0 || c.High < c.Low:
		return words.Error("calibrate.kept.range", ErrKept, c.Low, c.High)
	case !(c.Relative95 >= 0 && c.Relative95 < 1) || !(c.Absolute95 >= 0 && c.Absolute95 < 1e12):
		return words.Error("calibrate.kept.uncertainty", ErrKept)
	}
	return nil
}

// Ends is the moment, ns UTC, from which on the certificate holds no more:
// the end of its last day, in UTC. It is false where it does not say.
func (c *Certificate) Ends() (int64, bool) {
	if c == nil || c.Expires == "" {
		return 0, false
	}
	last, err := time.Parse(time.DateOnly, c.Expires)
	return last.AddDate(0, 0, 1).UnixNano(), err == nil
}

// Expired tells whether the certificate holds no more at a moment, ns UTC.
func (c *Certificate) Expired(at int64) bool {
	end, ok := c.Ends()
	return ok && at >= end
}

// States says the stated uncertainty in words.
func (c Certificate) States() string {
	var parts []string
	if c.Relative95 > 0 {
		parts = append(parts, words.Say("calibrate.states.part", 100*c.Relative95))
	}
	if c.Absolute95 > 0 {
		parts = append(parts, fmt.Sprintf("%.3g N", float64(c.Absolute95)))
	}
	if len(parts) == 0 {
		return words.Say("calibrate.states.nothing")
	}
	if len(parts) == 2 {
		return "±" + words.Say("calibrate.states.both", parts[0], parts[1])
	}
	return "±" + parts[0]
}

// ParseStated reads an uncertainty as certificates state it: 0.1%, 50N or
// 0.1%+20N. It is half the width of the 95 % interval.
func ParseStated(s string) (relative float64, absolute unit.Force, err error) {
	for _, part := range strings.Split(s, "+") {
		if percent, ok := strings.CutSuffix(strings.TrimSpace(part), "%"); ok {
			relative, err = strconv.ParseFloat(strings.TrimSpace(percent), 64)
			relative /= 100
		} else {
			absolute, err = unit.ParseForce(part)
		}
		if err != nil {
			return 0, 0, words.Error("calibrate.stated", s)
		}
	}
	return relative, absolute, nil
}

// ParseRange reads the forces between which a certificate holds: 5kN..100kN.
func ParseRange(s string) (low, high unit.Force, err error) {
	from, to, ok := strings.Cut(s, "..")
	if low, err = unit.ParseForce(from); err == nil {
		high, err = unit.ParseForce(to)
	}
	if err != nil || !ok {
		return 0, 0, words.Error("calibrate.range", s)
	}
	return low, high, nil
}
