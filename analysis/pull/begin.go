package pull

import (
	"math"

	"tautlog/analysis/trace"
)

// ready says how far the first samples of a stretch reach, once there are
// enough to learn from; -1 before that.
func (f *Finder) ready() int {
	w := &f.win
	if f.edge >= w.end() {
		return -1
	}
	t0 := w.time(f.edge)
	for i := f.edge + 1; i < w.end(); i++ {
		if w.mark(i)&gapBefore != 0 && i >= f.edge+4 {
			return i
		}
		n := i + 1 - f.edge
		if n >= beginMost || n >= beginSamples && float64(w.time(i)-t0) >= beginSeconds*1e9 {
			return i + 1
		}
	}
	return -1
}

// begin decides from the samples up to end what the line is doing: at rest,
// under a standing tension, or inside a pull.
func (f *Finder) begin(end int) {
	w := &f.win
	if f.edge == 0 {
		f.markFirstGaps(end)
	}
	f.at = f.edge
	l, flat := f.firstLevel(end)
	band := zeroBand*f.scale() + 4*l.Sigma/math.Sqrt(float64(l.N))
	blind := f.cfg.Capacity <= 0 && f.cfg.FullScale <= 0
	switch {
	case l.Mean <= band, blind && flat:
		f.rest(l)
	case flat && l.Mean < standingShare*f.scale():
		f.rest(l)
		f.held = newCollector(w, &f.line, f.edge, end, l.Mean, f.step()*1e9, f.edge)
		f.held.base = l.Mean
	default:
		f.underWay(end)
	}
}

// rest takes up a line at rest at level l.
func (f *Finder) rest(l trace.Level) {
	f.phase = slack
	f.pull.since = f.win.time(f.edge)
	// Few readings know the noise badly: the threshold allows for it.
	sigma := l.Sigma * (1 + 3/float64(l.N))
	f.quiet.reset(f.step(), l.Mean, sigma)
	f.setThresholds()
}

// firstLevel measures the longest quiet beginning of the samples up to end:
// all of them, or the first half, quarter, … where the rest rises out of it.
func (f *Finder) firstLevel(end int) (trace.Level, bool) {
	all := f.win.forces(f.edge, end)
	if len(all) == 0 {
		return trace.Level{}, false
	}
	best := f.level.Measure(all)
	for n := len(all); n >= 4; n /= 2 {
		l := f.level.Measure(all[:n])
		if f.flat(all[:n], l) {
			return l, true
		}
		if l.Mean < best.Mean {
			best = l
		}
	}
	if best.Mean <= zeroBand*f.scale() {
		return f.level.Measure(all[:min(4, len(all))]), false
	}
	return best, false
}

// flat says that the samples x, measured as l, neither climb nor fall by
// more than their noise explains.
func (f *Finder) flat(x []float64, l trace.Level) bool {
	half := len(x) / 2
	a := trace.Median(append([]float64(nil), x[:half]...))
	b := trace.Median(append([]float64(nil), x[half:]...))
	// The difference of two medians of n/2 has 1.25·2/√n standard deviations;
	// the noise is taken from the differences between neighbours, which a
	// slope does not touch.
	noise := neighbourNoise(x)
	limit := max(startShare*f.scale()/2, l.Step, 4*2.5*noise/math.Sqrt(float64(len(x))))
	return math.Abs(b-a) <= limit && l.Sigma <= 3*noise+limit
}

// neighbourNoise is the standard deviation of white noise on a slowly
// changing level, from the median difference between neighbours.
func neighbourNoise(x []float64) float64 {
	d := make([]float64, 0, len(x))
	for i := 1; i < len(x); i++ {
		d = append(d, math.Abs(x[i]-x[i-1]))
	}
	return 1.4826 * trace.Median(d) / math.Sqrt2
}

// markFirstGaps marks gaps among the first samples, from before the usual
// interval was known.
func (f *Finder) markFirstGaps(end int) {
	f.pace.Learn()
	f.steps = append(f.steps[:0], stepFrom{0, f.pace.Step()})
	for i := 1; i < end; i++ {
		if f.win.time(i)-f.win.time(i-1) > f.pace.Limit() {
			f.win.m[i-f.win.base] |= gapBefore
		}
	}
}

// underWay takes up a stretch that begins inside a pull, known up to end.
func (f *Finder) underWay(end int) {
	level := 0.0
	if f.zeroOK {
		level = f.zero
	}
	// There is no quiet line to learn the noise from; without it every crooked
	// reading would look like a spike.
	noise := neighbourNoise(f.win.forces(f.edge, end))
	f.startPull(f.edge, end, still{Level: trace.Level{Mean: level, Sigma: noise}})
	f.pull.underWay = true
	f.pull.atGap = f.atGap
}
