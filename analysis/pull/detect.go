// Package pull finds the pulls in a force trace and measures them: peak with
// its interval, rise, impulse, kind. One Finder serves a live line and a
// file: for any split of the same samples it finds the same pulls. It knows
// no clock, no instrument and no store, and it does not judge what a pull did
// to the gear.
//
// # How a pull is found
//
// A line at rest is followed block by block (quiet.go): the median of the
// blocks' means is its level, the median of their standard deviations, with
// the wander of the means, its noise. A reading above that level by more than
// six standard deviations, half a percent of the capacity and the user's
// floor begins a taut moment; one below half of that ends it. A moment of one
// reading, or of less than 20 ms, is no pull. A single reading that leaves
// its neighbours and comes back at once is electrical; it is replaced by
// their mean and counted (window.go).
//
// The start is walked back to the last reading at the quiet level. That level
// is then measured again from the quiet readings just before (median, and
// mean and deviation of what lies within three sigma). A level within 2 % of
// the capacity from zero is drift of the zero and is taken off; a higher one
// is a standing tension and is not.
//
// Moments with up to three seconds of slack between them are one pull with
// rebounds, unless a later one that comes 3.5 s or more after the peak is
// stronger than the one before it: that is another attempt. A pull also ends
// when the line has carried less than an eighth of its peak for five seconds,
// so that a line that is left under light tension does not hold it open;
// until such a line has been at rest at zero again, a new pull has to reach a
// quarter of the last one's peak.
//
// A trace that begins above the quiet band is inside a pull, unless it is
// level and below a quarter of the capacity: then it is a standing tension.
//
// # What is kept
//
// A window of the last thousands of readings, for walking back; of the pull
// going on, sums, the surroundings of its largest reading, and its course in
// at most 65536 points (outline.go). Memory does not grow with the pull.
//
// The thresholds of six sigma and half a percent, the times and the shares
// are common practice, no source, and are tested against independent traces.
package pull

import (
	"math"

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
	rearmShare    = 0.25
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
	hi, lo   float64
	rearm    float64    // least reading that begins a pull on a line still loaded; 0 none
	held     *collector // a level line under load at the begin of the trace
	zero     float64
	zeroOK   bool // a quiet line near zero was seen
	slowZero slowZero

	pull tautLine
	out  []Pull
	told told
}

// NewFinder makes a Finder for one cell.
func NewFinder(cfg Config) *Finder {
	return &Finder{cfg: cfg, pace: trace.NewPace(cfg.NominalRate)}
}

// push takes samples between which the calibration is one.
func (f *Finder) push(b trace.Batch) []Pull {
	for from := 0; from < b.Len(); {
		n := min(windowStep, b.Len()-from)
		if f.seen < beginMost && f.phase == beginning {
			n = 1
		}
		f.takeIn(b.Slice(from, from+n))
		f.advance(f.win.end() - 2)
		from += n
	}
	return f.hand()
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

// takeIn puts samples into the window and marks the gaps between them.
func (f *Finder) takeIn(b trace.Batch) {
	f.win.room(b.Len(), f.at)
	for from := 0; from < b.Len(); {
		n := f.usable(b, from)
		if n == 0 {
			f.void = true
			f.prevVoid(b.T[from])
			from++
			continue
		}
		f.append(b.Slice(from, from+n))
		from += n
	}
}

// usable is the number of samples from here on that can be forces.
func (f *Finder) usable(b trace.Batch, from int) int {
	n := b.Len() - from
	for i, v := range b.F[from : from+n] {
		if !sane(v) {
			n = i
			break
		}
	}
	if b.Marks == nil {
		return n
	}
	for i, m := range b.Marks[from : from+n] {
		if m&trace.Invalid != 0 {
			return i
		}
	}
	return n
}

// prevVoid notes the time of a reading that is left out: it is no gap.
func (f *Finder) prevVoid(t int64) {
	if f.seen > 0 {
		f.prev = t
	}
}

func (f *Finder) append(b trace.Batch) {
	n := len(f.win.t)
	f.win.add(b)
	if f.void {
		f.win.m[n] |= voidBefore
		f.void = false
	}
	t := b.T
	if f.seen == 0 {
		f.prev, t = t[0], t[1:]
		n++
	}
	m := f.win.m[n:]
	for len(t) > 0 {
		k := min(len(t), f.pace.Due())
		f.pace.Times(f.prev, t[:k], func(i int) { m[i] |= gapBefore })
		f.prev, t, m = t[k-1], t[k:], m[k:]
		if step := f.pace.Step(); len(f.steps) == 0 || f.steps[len(f.steps)-1].step != step {
			f.steps = append(f.steps, stepFrom{f.win.end() - len(t), step})
		}
	}
	f.prev = b.T[len(b.T)-1]
	f.seen += len(b.T)
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

// stepFrom is the usual interval in nanoseconds as known from a sample on.
// The samples that are looked at trail those taken in, by how much depends on
// how they were pushed; what is found must not.
type stepFrom struct {
	at   int
	step float64
}

// step is the usual interval in seconds as known at the sample at hand; 0
// while it is not known.
func (f *Finder) step() float64 {
	for len(f.steps) > 1 && f.steps[1].at <= f.at {
		f.steps = f.steps[:copy(f.steps, f.steps[1:])]
	}
	if len(f.steps) == 0 {
		return 0
	}
	return f.steps[0].step / 1e9
}

// scale is what shares of the full scale are taken of.
func (f *Finder) scale() float64 {
	switch {
	case f.cfg.Capacity > 0:
		return float64(f.cfg.Capacity)
	case f.cfg.FullScale > 0:
		return float64(f.cfg.FullScale)
	}
	return max(f.full, unknownScale)
}

// threshold is how far above the quiet level a pull begins.
func (f *Finder) threshold(sigma float64) float64 {
	thr := max(startSigmas*sigma, startShare*f.scale(), float64(f.cfg.Floor))
	if f.cfg.Capacity <= 0 {
		thr = max(thr, unknownFloor)
	}
	return thr
}

// setThresholds follows the quiet line.
func (f *Finder) setThresholds() {
	thr := f.threshold(f.quiet.sigma)
	f.hi, f.lo = f.quiet.level+thr, f.quiet.level+thr/2
	if f.drift(f.quiet.level) {
		f.zero, f.zeroOK, f.rearm = f.quiet.level, true, 0
		f.slowZero.take(f.quiet.level, zeroSpeed*f.scale(), f.win.time(max(f.at-1, f.win.base)))
		f.told.zero.take(f.quiet.level)
	}
	if f.rearm > 0 {
		f.hi = max(f.hi, f.rearm)
	}
	f.told.largest = max(f.told.largest, f.hi)
}

// drift says that a quiet level is a drifted zero, not a load.
func (f *Finder) drift(level float64) bool { return level <= zeroBand*f.scale() }

// runSlack looks at a line at rest up to end, or to where a pull begins.
func (f *Finder) runSlack(end int) {
	for f.at < end && f.phase == slack {
		stop := min(end, f.at+f.quiet.room())
		if f.win.mark(f.at)&gapBefore != 0 && f.afterGap() {
			return
		}
		n, special := f.quietRun(f.at, stop)
		if n > 0 {
			f.feedHeld(f.at, f.at+n)
			full := f.quiet.take(f.win.forces(f.at, f.at+n))
			f.at += n
			if full {
				f.setThresholds()
				f.checkHeld()
			}
		}
		if special && f.at < end && (f.win.mark(f.at)&gapBefore == 0 || f.edge == f.at) {
			f.trigger()
		}
	}
}

// quietRun counts the readings from i up to stop that are quiet, and says
// whether the one behind them is not.
func (f *Finder) quietRun(i, stop int) (n int, special bool) {
	hi := f.hi
	x := f.win.forces(i, stop)
	for k, v := range x {
		if v > hi {
			x, special = x[:k], true
			break
		}
	}
	marks := f.win.m[i-f.win.base : i-f.win.base+len(x)]
	for k, m := range marks {
		if m&gapBefore != 0 && k > 0 {
			return k, false
		}
	}
	return len(x), special
}

// afterGap takes notice of a gap in a line at rest; it is true where the line
// has to be learnt anew.
func (f *Finder) afterGap() bool {
	if f.edge == f.at {
		return false
	}
	long := f.at > f.win.base && float64(f.win.time(f.at)-f.win.time(f.at-1))/1e9 >= splitGap
	f.edge, f.atGap = f.at, true
	if long {
		f.restart()
	}
	return long
}

// restart learns the line anew from the sample at hand on.
func (f *Finder) restart() {
	f.phase, f.held, f.rearm = beginning, nil, 0
	f.edge = f.at
}

// feedHeld lets the collector of a line that was loaded from the first sample
// on see the samples from i up to j.
func (f *Finder) feedHeld(i, j int) {
	if f.held == nil {
		return
	}
	for ; i < j; i++ {
		f.held.add(&f.win, i)
	}
}

// checkHeld hands out a load that stood from the first sample on and has now
// been let go.
func (f *Finder) checkHeld() {
	c := f.held
	if c == nil || f.quiet.level > c.base/2 {
		return
	}
	f.held = nil
	if c.max < heldShare*f.scale() {
		return
	}
	f.pull = tautLine{c: c, begin: f.edge, underWay: true, atGap: f.atGap}
	end := c.line.lastAbove(c.base / 2)
	f.emit(f.measure(&f.pull, c.sum(&f.win, f.at), c.tally, end))
	f.pull = tautLine{since: end}
}

// hand-over from slack to taut at a reading above the threshold.
func (f *Finder) trigger() {
	i := f.at
	if f.lone(i) {
		f.remake(i, f.quiet.level)
		return
	}
	l := trace.Level{Mean: f.quiet.level, Sigma: f.quiet.sigma}
	begin := f.onset(i, l.Mean, l.Sigma)
	if before := f.quietBefore(begin); len(before) >= 8 {
		l = trace.MeasureLevel(append([]float64(nil), before[:len(before)-f.creep(before)]...))
		begin = f.onset(i, l.Mean, l.Sigma)
		// Not before the seal: what was looked at and dropped would be looked
		// at again and again.
		begin = max(begin-f.creep(f.quietBefore(begin)), min(begin, f.seal))
	}
	f.held = nil
	f.startPull(begin, i+1, l)
}

// lone says that reading i is a spike: its neighbours are quiet, or it stands
// out from them as no force does.
func (f *Finder) lone(i int) bool {
	w := &f.win
	if i > w.base && i+1 < w.end() && w.force(i-1) <= f.hi && w.force(i+1) <= f.lo && w.mark(i+1)&gapBefore == 0 {
		return true
	}
	return f.spike(i, f.quiet.sigma)
}

// spike looks for a spike at i where the readings are dense enough to tell.
func (f *Finder) spike(i int, sigma float64) bool {
	if s := f.step(); !(s > 0) || s > 0.025 {
		return false
	}
	is, _ := f.win.spiky(i, f.quiet.level, sigma, float64(f.cfg.Resolution))
	return is
}

// onset walks back from i to the last reading at the quiet level.
func (f *Finder) onset(i int, level, sigma float64) int {
	near := level + max(sigma, onsetShare*f.threshold(sigma))
	first := max(f.edge, f.seal, i-windowKeep/8)
	for i > first && f.win.force(i) > near && f.win.mark(i)&gapBefore == 0 {
		i--
	}
	return i
}

// creep is how many of the readings at the end of x have left the level that
// the older half of them keeps, seen in the mean of a tenth of a second: a
// slow rise begins far below what a single noisy reading shows.
func (f *Finder) creep(x []float64) int {
	n := max(8, f.quiet.size*2/5)
	if len(x) < 4*n {
		return 0
	}
	l := trace.MeasureLevel(append([]float64(nil), x[:len(x)/2]...))
	limit := l.Mean + max(creepSigmas*l.Sigma/math.Sqrt(float64(n)), onsetShare*f.threshold(l.Sigma)/4)
	end := len(x)
	for end >= len(x)/2+n && mean(x[end-n:end]) > limit {
		end -= max(1, n/4)
	}
	return len(x) - end
}

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// quietBefore gives the quiet readings before sample i.
func (f *Finder) quietBefore(i int) []float64 {
	first := max(f.edge, f.win.base)
	last := i - 1
	earliest := f.win.time(i) - int64(baseSeconds*1e9)
	from := last
	for from > first && last-from < windowKeep*3/4 && f.win.time(from-1) >= earliest {
		from--
	}
	if from >= last {
		return nil
	}
	return f.win.forces(from, last)
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
