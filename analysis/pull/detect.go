package pull

import (
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

const (
	zeroBand      = 0.02  // of full scale: a quiet level nearer to zero is drift
	startShare    = 0.005 // of full scale: least start threshold
	startSigmas   = 6
	peakShare     = 0.01  // of full scale: least height of a pull
	unknownFloor  = 25.0  // N, least threshold where the capacity is unknown: 0.5 % of half a tonne
	unknownScale  = 1e4   // N, least full scale where nothing is known: a cell of a tonne
	unknownLeast  = 400.0 // N, least height of a pull where the capacity is unknown: more than handling a line takes
	momentSeconds = 0.02
	dropSeconds   = 0.5 // of slack after a disturbance
	mergeSeconds  = 3.0
	attemptAfter  = 3.5 // seconds from the peak to a stronger moment that is another attempt
	residualShare = 0.125
	residualTime  = 5.0
	rearmShare    = 0.15            // somewhat more than what is light: a load between would be in no pull
	zeroSpeed     = zeroBand / 1200 // of full scale a second: a zero drifts no faster, a load may
	driftTime     = 10.0            // seconds after which a rise that is no pull yet is drift
	splitGap      = 30.0            // seconds without readings that end a pull
	onsetShare    = 0.05            // of the threshold: how near to the level a pull starts and ends
	standingShare = 0.25            // of full scale: a higher level at the start is a pull under way
	heldShare     = 0.10            // of full scale: a standing level that is let go was a pull
	baseSeconds   = 6.0
	creepSigmas   = 3
	beginSamples  = 17
	beginSeconds  = 0.2
	beginMost     = 512
)

type phase uint8

const (
	beginning phase = iota // the first samples, or the first after a long gap
	slack
	taut
)

// Finder finds pulls in samples pushed to it, in bounded memory. Its methods
// are not safe for use by several goroutines at once.
type Finder struct {
	cfg   Config
	full  float64 // largest reading so far
	pace  *trace.Pace
	win   window
	steps []stepFrom
	at    int   // next sample to look at
	edge  int   // first sample of the stretch at hand; nothing before it is looked at
	seal  int   // first sample that a pull may start at
	seen  int   // samples taken in
	prev  int64 // time of the last one taken in
	void  bool  // void readings came since
	until int64 // when another calibration comes into force; 0: not asked yet

	phase    phase
	atGap    bool // the stretch at hand begins behind a gap
	quiet    quietLine
	level    trace.Leveller
	hi, lo   float64
	rearm    float64    // least reading that begins a pull on a line still loaded; 0 none
	held     *collector // a level line under load at the begin of the trace
	zero     float64
	zeroOK   bool // a quiet line near zero was seen
	slowZero slowZero

	pull   tautLine
	before before
	line   outline // of the pull going on, or held
	out    []Pull
	told   told
}

// NewFinder makes a Finder for one cell.
func NewFinder(cfg Config) *Finder {
	return &Finder{cfg: cfg, pace: trace.NewPace(cfg.NominalRate)}
}

// push takes samples between which the calibration is one.
func (f *Finder) push(b trace.Batch) []Pull {
	for from := 0; from < b.Len(); {
		n := f.atOnce(b.Len() - from)
		f.takeIn(b.Slice(from, from+n))
		f.advance(f.win.end() - 2)
		from += n
	}
	return f.hand()
}

// atOnce is how many of so many samples are taken in before they are looked at.
func (f *Finder) atOnce(n int) int {
	if f.seen < beginMost && f.phase == beginning {
		return 1
	}
	return min(windowStep, n)
}

// Close ends the trace and returns the pull that was still going on, if any.
// The Finder is then as new, but still tells of spikes, zero and largest force.
func (f *Finder) Close() []Pull {
	if f.phase == beginning && f.win.end() > f.edge {
		f.begin(f.win.end())
	}
	f.advance(f.win.end())
	if f.phase == taut {
		f.closeAtEnd()
	}
	out := f.hand()
	told := f.told
	*f = *NewFinder(f.cfg)
	f.told = told
	return out
}

func (f *Finder) hand() []Pull {
	out := f.out
	f.out = nil
	return out
}

// advance looks at the samples before end.
func (f *Finder) advance(end int) {
	for f.at < end || f.phase == beginning {
		switch f.phase {
		case beginning:
			n := f.ready()
			if n < 0 {
				return
			}
			f.begin(n)
		case slack:
			f.runSlack(end)
		case taut:
			f.runTaut(end)
		}
	}
}

// State says what the line is doing.
func (f *Finder) State() State {
	s := State{Baseline: unit.Force(f.zero), Noise: unit.Force(f.quiet.sigma)}
	if n := f.win.end(); n > f.win.base {
		s.Force = unit.Force(f.win.force(n-1) - f.zero)
		s.Since = f.win.time(max(f.edge, f.win.base))
	}
	if f.phase == taut {
		p := &f.pull
		s.Taut, s.Since = p.in, p.since
		s.Peak = unit.Force(p.c.max - f.zero)
		s.Noise = unit.Force(p.sigma)
	} else if f.phase == slack {
		s.Since = f.pull.since
	}
	return s
}
