package pull

import (
	"math"

	"tautlog/analysis/trace"
)

// trigger hands over from slack to taut at a reading above the threshold.
func (f *Finder) trigger() {
	i := f.at
	if f.lone(i) {
		f.remake(i, f.quiet.level)
		return
	}
	l := f.restFollowed()
	begin := f.onset(i, l.Mean, l.Sigma)
	if measured, creep, ok := f.restBefore(begin); ok {
		l = measured
		if again := f.onset(i, l.Mean, l.Sigma); again != begin {
			begin, creep = again, f.creep(f.quietBefore(again))
		}
		// Not before the seal: what was looked at and dropped would be looked
		// at again and again.
		begin = max(begin-creep, min(begin, f.seal))
	}
	f.held = nil
	f.startPull(begin, i+1, l)
}

// restFollowed is the quiet line as it is followed block by block.
func (f *Finder) restFollowed() still {
	return still{Level: trace.Level{Mean: f.quiet.level, Sigma: f.quiet.sigma}}
}

// restBefore measures the quiet line just before sample i, and how many of its
// newest readings creep; false where too little of it is there.
func (f *Finder) restBefore(i int) (rest still, creep int, ok bool) {
	before := f.quietBefore(i)
	if len(before) < 8 {
		return still{}, 0, false
	}
	// The newest part takes no part: a slow rise may have begun in it.
	creep = f.creep(before)
	last := i - 1 - creep - len(before)/stillNewest
	return f.still(i-1-len(before), last), creep, true
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
// slow rise begins far below what a single noisy reading shows. A zero may have
// drifted as far as one does.
func (f *Finder) creep(x []float64) int {
	n := max(8, f.quiet.size*2/5)
	if len(x) < 4*n {
		return 0
	}
	l := f.level.Measure(x[:len(x)/2])
	limit := l.Mean + max(creepSigmas*l.Sigma/math.Sqrt(float64(n)), onsetShare*f.threshold(l.Sigma)/4)
	drift := zeroSpeed * f.scale() * f.step()
	end := len(x)
	for end >= len(x)/2+n && mean(x[end-n:end]) > limit+drift*float64(end-len(x)/4) {
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
