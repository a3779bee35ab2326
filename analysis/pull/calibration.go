package pull

import (
	"math"
	"sort"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Calibration is what is known of how readings became force at a moment.
type Calibration struct {
	Half95  unit.Force // half the width of the 95 % interval of the force; 0: not known
	Note    string     // how it is known
	Flags   []string   // what to know of it before trusting the numbers
	Remarks []string   // the same for people, a sentence each
	Until   int64      // when another curve or zero comes into force, in ns
}

// The flags of a calibration.
const (
	FlagNoCalibration     = "no calibration"      // the cell has none that says how sure its force is
	FlagExpired           = "calibration expired" // the pull came after the last day of its certificate
	FlagBeyondCalibration = "beyond calibration"  // the peak is above the largest force of the calibration
)

// Push takes the next samples and returns the pulls that they completed.
// Readings that the instrument called invalid, and values that are no number,
// are left out and counted. Where another curve or zero comes into force, the
// trace ends and another begins: the level may step there, and is no pull.
func (f *Finder) Push(b trace.Batch) []Pull {
	if f.cfg.Calibration == nil || b.Len() == 0 {
		return f.push(b)
	}
	var out []Pull
	for b.Len() > 0 {
		if f.until == 0 {
			f.until = f.cfg.Calibration(b.T[0], 0).Until
		}
		n := sort.Search(b.Len(), func(i int) bool { return b.T[i] >= f.until })
		if n > 0 {
			out = append(out, f.push(b.Slice(0, n))...)
		}
		if n < b.Len() {
			out = append(out, f.Close()...)
		}
		b = b.Slice(n, b.Len())
	}
	return out
}

// calibration is that of the force as it was read, the zero included.
func (m *measured) calibration() part {
	if m.cfg.Calibration == nil {
		if m.cfg.Relative95 <= 0 {
			return unknownPart(termCalibration, words.Say("measured.note.unknown"))
		}
		u := m.cfg.Relative95 * math.Abs(float64(m.Peak))
		return part{name: termCalibration, low: u, high: u, note: words.Say("measured.note.certificate")}
	}
	c := m.cfg.Calibration(m.PeakAt, m.Peak+m.Zero)
	for i, flag := range c.Flags {
		m.note(flag, c.Remarks[i])
	}
	if c.Half95 <= 0 {
		return unknownPart(termCalibration, words.Say("measured.note.unknown"))
	}
	return part{name: termCalibration, low: float64(c.Half95), high: float64(c.Half95), note: c.Note}
}
