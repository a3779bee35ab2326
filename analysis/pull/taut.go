package pull

// tautLine is the pull going on.
type tautLine struct {
	c        *collector
	level    float64 // of the quiet line before
	sigma    float64 // its noise; 0 where it was not seen
	hi, lo   float64
	begin    int  // index of the first sample
	underWay bool // the trace, or the stretch behind a gap, begins inside it
	atGap    bool // it begins at a gap
	standing bool
	set      bool   // its limits were set by a person; see Stretch
	cutIn    bool   // and it begins where the trace was under way already
	rest     still  // the quiet line before, as measured
	after    *still // and after, where it was seen

	due    int64 // when the reading came that it was begun for
	in     bool  // a taut moment is going on
	since  int64 // when the line became taut or slack
	moment moment
	last   moment // the confirmed moment before
	first  bool   // a moment has been confirmed

	left    bool  // a moment has ended
	slackAt int64 // when the line became slack; it is while !in
	calm    bool  // it has come down to the quiet level since
	ended   tally // sums then

	lowAt int64 // first sample of the light load at hand
	low   bool
	eased tally // sums then

	stand stand // where the load stands still

	before      *tally // sums when the newest moment began
	beforeEnded tally  // and when the one before it ended
	beforeSlack int64
}

// moment is a stretch of tension.
type moment struct {
	begin     int
	at        int64
	over      int // readings above the threshold
	peak      float64
	confirmed bool
}

// startPull begins a pull at sample i on a line at rest at base, found from
// the samples before lead.
func (f *Finder) startPull(i, lead int, base still) {
	level, sigma := base.Mean, base.Sigma
	thr := f.threshold(sigma)
	f.pull = tautLine{
		c:     newCollector(&f.win, &f.line, i, max(lead, i), level, f.step()*1e9, max(f.edge, f.win.base)),
		level: level, sigma: sigma, hi: level + thr, lo: level + thr/2, begin: i, rest: base, due: f.win.time(f.at),
	}
	f.pull.atGap = f.win.mark(i)&gapBefore != 0 && f.win.force(i) > f.pull.lo
	if !f.drift(level) {
		f.pull.standing = true
	} else if level != 0 || f.zeroOK {
		f.zero, f.zeroOK = level, true
	}
	f.at, f.phase = i, taut
}

// runTaut looks at the samples of a pull up to end, or to where it is over.
func (f *Finder) runTaut(end int) {
	for f.at < end && f.phase == taut {
		f.clean(f.at)
		if f.over(f.at) {
			continue
		}
		f.takeTaut(f.at)
		f.at++
	}
}

// clean replaces sample i by the mean of its neighbours where it is a spike.
func (f *Finder) clean(i int) {
	w := &f.win
	if i <= f.pull.begin || w.mark(i)&spikeRemade != 0 {
		return
	}
	if s := f.step(); !(s > 0) || s > 0.025 {
		return
	}
	if is, v := w.spiky(i, f.pull.level, f.pull.sigma, float64(f.cfg.Resolution)); is {
		f.remake(i, v)
	}
}

// takeTaut counts sample i into the pull.
func (f *Finder) takeTaut(i int) {
	p, w := &f.pull, &f.win
	t, v := w.time(i), w.force(i)
	if w.mark(i)&gapBefore != 0 && i > p.begin {
		f.gapInPull(i)
	}
	p.c.add(w, i)
	f.full = max(f.full, v)
	f.told.largest = max(f.told.largest, v)
	switch {
	case v > p.hi && !p.in:
		f.enter(i, t, v)
	case v > p.hi:
		p.moment.over++
		p.moment.peak = max(p.moment.peak, v)
		if !p.moment.confirmed && f.lasts(i, t) {
			f.confirm()
		}
	case p.in && v <= p.lo:
		f.leave(t)
	case !p.in && p.left && !p.calm && v <= p.level+max(p.sigma, onsetShare*(p.hi-p.level)):
		p.calm, p.slackAt, p.ended = true, t, p.c.tally
	}
	f.followEasing(t, v)
	f.follow(i)
}

// enter begins a taut moment at sample i.
func (f *Finder) enter(i int, t int64, v float64) {
	p := &f.pull
	p.in, p.since = true, t
	p.moment = moment{begin: i, at: t, over: 1, peak: v}
	before := p.c.tally
	p.before, p.beforeEnded, p.beforeSlack = &before, p.ended, p.slackAt
}

// lasts says that the moment going on is longer than a disturbance.
func (f *Finder) lasts(_ int, t int64) bool {
	m := &f.pull.moment
	return m.over >= 2 && (float64(t-m.at)/1e9 >= momentSeconds || f.step() > momentSeconds/2)
}

// confirm accepts the moment going on as tension. A stronger one some time
// after the peak is another attempt.
func (f *Finder) confirm() {
	p := &f.pull
	p.moment.confirmed = true
	p.first = true
}

// another says that the moment going on is not a rebound of what came before
// but another attempt, or the first one on a line that was only handled before.
func (f *Finder) another() bool {
	p := &f.pull
	m := &p.moment
	if p.before == nil || !m.confirmed || p.last.peak == 0 {
		return false
	}
	apart := float64(m.at-p.before.maxAt) / 1e9
	slackFor := float64(m.at-p.beforeSlack) / 1e9
	if handled := p.before.max-p.level < f.least(f.scale(), p.sigma); handled && slackFor >= dropSeconds {
		return true
	}
	return apart >= attemptAfter && slackFor >= 1 &&
		m.peak-p.level > 1.15*(p.last.peak-p.level) && m.peak-p.level > 0.7*(p.before.max-p.level)
}

// leave ends a taut moment.
func (f *Finder) leave(t int64) {
	p := &f.pull
	p.in, p.since = false, t
	if !p.moment.confirmed && p.first {
		// A disturbance on a slack line: as if it had not been.
		return
	}
	p.left, p.slackAt, p.calm, p.ended = true, t, false, p.c.tally
	if p.moment.confirmed {
		p.last = p.moment
	}
}

// followEasing notes since when the line has carried only a small part of
// the pull's peak.
func (f *Finder) followEasing(t int64, v float64) {
	p := &f.pull
	light := v-p.level < residualShare*(p.c.max-p.level)
	if light && !p.low {
		p.lowAt, p.eased = t, p.c.tally
	}
	p.low = light
}

// gapInPull takes notice of readings that are missing before sample i: where
// the line is slack behind the gap, the pull ended before it, as far as one
// can know.
func (f *Finder) gapInPull(i int) {
	p := &f.pull
	if p.in && f.win.force(i) <= p.lo {
		p.in, p.left, p.calm = false, true, true
		p.slackAt, p.ended = p.c.end, p.c.tally
		p.since = p.c.end
		p.last = p.moment
		p.ended.gaps = append(p.ended.gaps[:len(p.ended.gaps):len(p.ended.gaps)], gap{p.c.end, f.win.time(i)})
	}
}

// over closes the pull where it is over before sample i; it is true where
// the phase has changed.
func (f *Finder) over(i int) bool {
	p := &f.pull
	if i == p.begin || p.c.n == 0 {
		return false
	}
	t := f.win.time(i)
	since := func(t0 int64) float64 { return float64(t-t0) / 1e9 }
	switch {
	case p.in && f.another():
		f.split()
	case f.win.mark(i)&gapBefore != 0 && since(p.c.end) >= splitGap:
		f.closeAtGap(i)
	case !p.in && !p.first && p.left && since(p.slackAt) >= dropSeconds:
		f.drop(i)
	case !p.in && !p.left && !p.underWay && since(p.due) >= dropSeconds:
		f.drop(i) // measured anew, the line at rest is noisier, and the reading was part of that
	case !p.in && p.left && since(p.slackAt) >= mergeSeconds:
		f.finish(i, p.ended, p.slackAt)
	case p.low && p.first && f.resting(since(p.lowAt), since(p.since)):
		f.measureAfter(i, p.lowAt)
		f.measureResidual(i, p.eased, p.c.line.easedTo(p.eased.end, p.level))
		f.quietAgain(i, p.lowAt)
	case f.standsEased():
		f.measureAfter(i, p.stand.since)
		f.measureResidual(i, p.stand.eased, p.stand.since)
		f.quietAgain(i, p.stand.since)
	case f.preloaded(i):
		f.splitPreload()
	case p.in && !p.underWay && f.creeps(since(p.c.startAt)):
		f.settle(i)
	default:
		return false
	}
	return true
}

// resting says that a line under light load for so many seconds, and taut or
// slack without a break for so many, keeps that load. One that still bounces
// does not; after four times as long it does not matter.
func (f *Finder) resting(light, unbroken float64) bool {
	return f.pull.in && light >= residualTime && unbroken >= residualTime || light >= 4*residualTime
}

// creeps says that what was taken for a pull is a zero that has moved: after
// ten seconds it is not yet as high as a pull, or after a minute still within
// the zero band.
func (f *Finder) creeps(seconds float64) bool {
	height := f.pull.c.max - f.pull.level
	return seconds >= driftTime && height <= peakShare*f.scale() ||
		seconds >= 6*driftTime && height <= zeroBand*f.scale()
}

// split ends the pull before the moment going on and begins another with it.
func (f *Finder) split() {
	p := &f.pull
	begin := p.moment.begin
	p.c.tally = *p.before
	ended, at := p.beforeEnded, p.beforeSlack
	base := p.rest
	f.emit(f.measure(p, p.c.tally, ended, at))
	begin = max(begin, f.at-windowKeep/2)
	f.edge = max(f.edge, f.recent(at, f.at))
	f.startPull(f.onset(begin, base.Mean, base.Sigma), begin+1, base)
}

// drop forgets a disturbance: the line is as quiet as it was before. One that
// was there from the first sample on says nothing of that.
func (f *Finder) drop(i int) {
	f.phase, f.at, f.seal = slack, i, i
	f.pull = tautLine{since: f.pull.c.startAt}
	if f.quiet.size == 0 {
		f.restart()
	}
}

// settle forgets a rise that stayed within the zero band: the zero has moved.
func (f *Finder) settle(i int) { f.quietAgain(i, f.win.time(i)-int64(2e9)) }

// finish hands out a pull that ended at end with the sums ended.
func (f *Finder) finish(i int, ended tally, end int64) {
	f.measureAfter(i, end)
	f.emit(f.measure(&f.pull, f.pull.c.sum(&f.win, i), ended, end))
	f.quietAgain(i, end)
}

// measureAfter measures the quiet line that followed a pull, up to sample i.
func (f *Finder) measureAfter(i int, end int64) {
	from := f.settled(i, end)
	if i-from < 8 {
		return
	}
	level := f.still(from, i)
	f.pull.after = &level
}

// settled is the first sample of those up to i that tell of the line after a
// pull that ended at end.
func (f *Finder) settled(i int, end int64) int {
	from := f.recent(end, i)
	return from + (i-from)/3
}

// measureResidual hands out a pull after which the line kept a light load.
func (f *Finder) measureResidual(i int, eased tally, end int64) {
	p := &f.pull
	all := p.c.sum(&f.win, i)
	f.emit(f.measure(p, all, eased, end))
	f.rearm = f.zero + rearmShare*(p.c.max-f.zero)
}

// closeAtGap ends a pull at a long gap before sample i.
func (f *Finder) closeAtGap(i int) {
	p := &f.pull
	c := p.c.sum(&f.win, i)
	if p.in {
		c.gaps = append(c.gaps[:len(c.gaps):len(c.gaps)], gap{c.end, f.win.time(i)})
		f.emit(f.measure(p, c, c, c.end))
	} else {
		f.emit(f.measure(p, c, p.ended, p.slackAt))
	}
	f.edge, f.at, f.atGap = i, i, true
	f.restart()
}

// closeAtEnd ends a pull at the end of the trace.
func (f *Finder) closeAtEnd() { f.emit(f.measureSoFar(f.at)) }

// measureSoFar measures the pull going on as if the trace ended before now;
// nil where there is none.
func (f *Finder) measureSoFar(now int) *Pull {
	p := &f.pull
	if f.phase != taut || !p.first || p.c.n == 0 {
		return nil
	}
	c := p.c.sum(&f.win, now)
	switch {
	case !p.in && p.left:
		return f.measure(p, c, p.ended, p.slackAt)
	case p.low && float64(p.c.end-p.lowAt)/1e9 >= 1:
		return f.measure(p, c, p.eased, p.c.line.easedTo(p.lowAt, p.level))
	case p.underWay && p.c.line.level():
		return nil
	}
	c.open = true
	return f.measure(p, c, c, c.end)
}

// Current measures the pull going on, as far as it has come. It is for a
// first result within a second of the line going slack, while a rebound may
// still follow. It is false while there is none.
func (f *Finder) Current() (Pull, bool) {
	if p := f.measureSoFar(f.at); p != nil {
		was := f.before
		was.follow(p)
		return *p, true
	}
	return Pull{}, false
}

// emit hands out a pull, where what was measured is one.
func (f *Finder) emit(p *Pull) {
	if p != nil {
		f.before.follow(p)
		f.out = append(f.out, *p)
	}
}

// quietAgain takes up the line at rest before sample i, where it has been so
// since end.
func (f *Finder) quietAgain(i int, end int64) {
	from := f.recent(end, i)
	f.edge = max(f.edge, from)
	rearm := f.rearm
	settled := from + (i-from)/5
	x := f.win.forces(settled, i)
	if len(x) == 0 {
		x = f.win.forces(max(f.win.base, i-1), i)
	}
	f.pull = tautLine{since: end}
	l := f.level.Measure(x)
	f.atGap = false
	f.phase = slack
	f.quiet.reset(f.step(), l.Mean, l.Sigma*(1+3/float64(max(1, l.N))))
	f.rearm = rearm
	for len(x) > 0 {
		n := min(len(x), f.quiet.room())
		f.quiet.take(x[:n])
		x = x[n:]
	}
	f.setThresholds()
	f.at, f.seal = i, i
}

// recent is the first sample at or behind time t, of those shortly before i
// that the window is sure to hold.
func (f *Finder) recent(t int64, i int) int {
	lo, hi := max(f.win.base, i-windowKeep*3/4), f.win.end()
	for lo < hi {
		if mid := (lo + hi) / 2; f.win.time(mid) < t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}
