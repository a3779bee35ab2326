package pull

import (
	"slices"

	"tautlog/calc/unit"
)

// Kind is what a pull was, judged from the trace alone.
type Kind string

// The kinds of pull.
const (
	// Kinetic is a pulse, with or without rebounds.
	Kinetic Kind = "kinetic"
	// Steady is a longer load that works: plateau, stick-slip, swings.
	Steady Kind = "steady"
	// Proof is a smooth ramp to a level that is held and then released.
	Proof Kind = "proof"
)

// Config says what is known of the cell before any sample is seen. The zero
// value is usable: what is unknown is learnt from the trace or said to be
// unknown.
type Config struct {
	Capacity   unit.Force // rated capacity of the cell; 0 unknown
	FullScale  unit.Force // largest reading of the whole trace, where Capacity is unknown
	Floor      unit.Force // the user's floor for the start threshold; 0 none
	Resolution unit.Force // force of one count; 0 unknown
	Relative95 float64    // calibration: half width of the 95 % interval, as a fraction; 0 unknown
	// Calibration tells what is known of a force as it was read at a moment, in
	// ns; nil: only Relative95 is.
	Calibration func(at int64, read unit.Force) Calibration
	LagSeconds  float64 // first-order time constant of the amplifier; 0 unknown
	NominalRate float64 // readings a second; 0: from the times
}

// Pull is one pull as found and measured. Times are in nanoseconds on the
// clock of the samples; forces have the zero taken off, a standing tension
// not.
type Pull struct {
	Start, End int64 // from the line taking load to it being slack again
	Kind       Kind
	Peak       unit.Force // best estimate from the readings, never above the largest
	PeakAt     int64      // time of the largest reading
	PeakLow    unit.Force // 95 % interval of the true peak
	PeakHigh   unit.Force

	PeakReading  unit.Force // the largest reading
	PeakFiltered unit.Force // largest of the filtered trace; PeakReading where no filter is allowed
	Filter       string     // "CFC 60" or "none"

	Zero     unit.Force // the level taken off as zero
	Standing unit.Force // tension on the line before the pull; 0 none
	Noise    unit.Force // standard deviation of the quiet line

	RiseTime  float64 // seconds from 10 % to 90 % of the rise to the peak
	RiseFrom  int64   `json:",omitzero"` // time of the 10 %; 0 where the rise was not seen
	RiseRate  float64 // N/s, mean over that time
	MaxRise   float64 // N/s, largest, on the filtered trace where there is one
	ToPeak    float64 // N·s, impulse from the start to the peak
	Impulse   float64 // N·s, impulse of the whole pull
	AboveHalf float64 // seconds above half of the peak

	RiseTime95 float64 // s, half width of the 95 % interval of RiseTime
	RiseRate95 float64 // N/s, the same of RiseRate
	Impulse95  float64 // N·s, the same of Impulse

	ZeroShift *unit.Force // how far the slack line moved from before the pull to after; nil where one was not seen
	Steady    *unit.Force // level that a steady or proof pull held; nil for a kinetic one
	StickSlip *unit.Force // amplitude, half of peak to peak, of a steady pull's swings
	HoldDecay *float64    // part of the load that a proof pull lost while held
	Held      *float64    // seconds for which a proof pull was held; nil for another kind
	Rebound   *float64    // Hz, how often the load came back; nil where it did not
	Damping   *float64    // damping ratio of the rebounds
	Rebounds  int         // taut moments or swings after the first peak

	Samples int     // readings between Start and End
	Rate    float64 // readings a second
	Spikes  int     // single readings left out as electrical

	Flags   []string // short names of what to know before trusting the numbers; never nil
	Remarks []string // the same for people, a sentence each
	Terms   []Term   // what the interval is made of
}

// Term is one contribution to the 95 % interval of the peak: how far below
// and above the peak it alone would put the limits.
type Term struct {
	Name  string     // what it is: "noise", "sampling", …
	Low   unit.Force // below the peak
	High  unit.Force // above the peak
	Shift unit.Force // of that, by how much it moves the likeliest value up
	Note  string     // how it was found, or that it is not known

	Unknown bool `json:",omitempty"` // nothing is known of it: the interval leaves it out
}

// The flags.
const (
	FlagUnderWay     = "under way at start" // the trace begins inside the pull
	FlagNotEnded     = "not ended"          // the trace ends inside the pull
	FlagGap          = "gap"                // readings are missing inside the pull
	FlagGapAtPeak    = "gap at peak"        // readings are missing beside the largest one
	FlagOverload     = "overload"           // the instrument was beyond its range
	FlagInvalid      = "invalid readings"   // the instrument called some readings void
	FlagSpikes       = "spikes left out"    // single readings were taken for electrical
	FlagSampling     = "sampling"           // the sampling rate may hide a good part of the peak
	FlagFewReadings  = "few readings"       // too few readings to know the shape
	FlagStanding     = "standing tension"   // the pull began on a line under load
	FlagZeroUnknown  = "zero not seen"      // no quiet line before the pull
	FlagZeroMoved    = "zero moved"         // the quiet level after differs from the one before
	FlagZeroFarOff   = "zero far off"       // the quiet line reads far below zero
	FlagLate         = "may be a rebound"   // a weaker kinetic pull soon after another one
	FlagOverCapacity = "over capacity"      // beyond the rated capacity of the cell
	FlagSetByHand    = "limits set by hand" // a person set the start and the end; see Stretch
	FlagPeakAtLimit  = "peak at a limit"    // and cut the top off: the force went on rising outside
)

// AtLeast says that the true peak was at least the largest reading, and nobody
// knows how much more: the instrument was at its end or not there, or a limit
// that a person set cuts the top off.
func (p Pull) AtLeast() bool {
	return slices.ContainsFunc(p.Flags, func(f string) bool {
		return f == FlagOverload || f == FlagGapAtPeak || f == FlagPeakAtLimit
	})
}

// State is what the line is doing now.
type State struct {
	Taut     bool
	Since    int64      // when it became so
	Force    unit.Force // latest reading, zero taken off
	Peak     unit.Force // largest so far of the pull going on; 0 when slack
	Baseline unit.Force // the level that is taken as zero
	Noise    unit.Force // standard deviation of the quiet line
}
