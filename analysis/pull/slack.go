package pull

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
