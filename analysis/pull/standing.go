package pull

import (
	"math"
)

// stand follows whether the load of a pull stands still, block by block: a
// line that is kept under tension between two loads, as in an hour of towing,
// or one that was preloaded before the pull proper.
type stand struct {
	n          int // readings in the block at hand
	sum, sumSq float64
	begin      int   // index of its first reading
	beginAt    int64 // and its time
	before     tally // sums before it

	ref    float64 // level that the load stands at
	still  bool    // it does
	from   int     // index of the first reading of that stretch
	since  int64   // and its time
	eased  tally   // sums before it
	last   int     // index behind the last block of it
	lastAt int64   // time of its last reading
	kept   tally   // sums up to there
}

const (
	standBlock   = 0.5 // seconds
	standSeconds = 8.0 // that a load stands still before that means something
	standEased   = 0.5 // of the height: a load that stands lower than this is no longer the pull
)

// follow takes sample i.
func (f *Finder) follow(i int) {
	p, s := &f.pull, &f.pull.stand
	if f.win.mark(i)&gapBefore != 0 {
		*s = stand{}
	}
	if s.n == 0 {
		s.begin, s.beginAt, s.before, s.sum, s.sumSq = i, f.win.time(i), p.c.tally, 0, 0
	}
	v := f.win.force(i) - p.level
	s.sum += v
	s.sumSq += v * v
	if s.n++; s.n >= max(4, int(math.Round(standBlock/max(f.step(), 1e-6)))) {
		f.closeBlock(i)
	}
}

// closeBlock judges the block that ends with sample i.
func (f *Finder) closeBlock(i int) {
	p, s := &f.pull, &f.pull.stand
	n := float64(s.n)
	mean := s.sum / n
	spread := math.Sqrt(max(0, s.sumSq/n-mean*mean))
	within := max(startShare*f.scale()/2, 4*p.sigma/math.Sqrt(n))
	calm := spread <= 2.5*p.sigma+within/2
	s.n = 0
	switch {
	case !calm:
		s.still = false
	case s.still && math.Abs(p.level+mean-s.ref) <= within:
		s.last, s.lastAt, s.kept = i+1, f.win.time(i), p.c.tally
	default:
		s.still, s.ref = true, p.level+mean
		s.from, s.since, s.eased = s.begin, s.beginAt, s.before
		s.last, s.lastAt, s.kept = i+1, f.win.time(i), p.c.tally
	}
}

// seconds is how long the load has stood still, or last stood so.
func (s *stand) seconds() float64 { return float64(s.lastAt-s.since) / 1e9 }

// standsEased says that the load has come down to where it now stands still:
// the pull is over, and the line is kept under tension.
func (f *Finder) standsEased() bool {
	p, s := &f.pull, &f.pull.stand
	return p.first && s.still && s.seconds() >= standSeconds && s.eased.n > 0 &&
		s.ref-p.level < standEased*(s.eased.max-p.level)
}

// preloaded says that the load stood still as high as it had ever been, and
// now is more than twice that high: the earlier part was a preload, and the
// pull begins from it. A load within the zero band, or above a quarter of the
// full scale, is not taken for one.
func (f *Finder) preloaded(i int) bool {
	p, s := &f.pull, &f.pull.stand
	height := s.ref - p.level
	if !p.first || s.last == 0 || s.seconds() < standSeconds || height < standEased*(s.kept.max-p.level) {
		return false
	}
	if s.ref <= zeroBand*f.scale() || s.ref >= standingShare*f.scale() || i-s.last > windowKeep/2 {
		return false
	}
	over := s.ref + max(height, 2*f.threshold(p.sigma))
	return f.win.force(i) > over && i > s.last && f.win.force(i-1) > s.ref+height/2
}

// splitPreload begins a pull from the level that the load stood at. What came
// before is handed out where it was more than a preload.
func (f *Finder) splitPreload() {
	p, s := f.pull, f.pull.stand
	if s.kept.max-p.level > preloadPeak*(s.ref-p.level) {
		f.emit(f.measure(&p, s.kept, s.eased, s.since))
	}
	f.edge = max(f.edge, s.from, f.win.base)
	rest := f.still(max(f.edge, s.last-windowKeep/4), s.last)
	begin := f.onset(f.at, rest.Mean, rest.Sigma)
	if begin > s.last && f.win.force(begin) > (s.ref+f.win.force(f.at))/2 {
		begin = s.last // it rose too slowly to walk back all the way
	}
	f.startPull(begin, begin+1, rest)
}

// preloadPeak is how far, as a share of the level that it came to stand at, an
// earlier load may have gone beyond it and still be a preload.
const preloadPeak = 1.25

// slowZero is a zero that cannot rise as fast as a line that is slowly put
// under tension. It is what is taken off where the line has come out of the
// zero band by itself: the last of its levels within the band were load.
type slowZero struct {
	level float64
	at    int64
	known bool
}

// take follows a level of the slack line: down at once, up by speed newtons a
// second at most.
func (z *slowZero) take(level, speed float64, at int64) {
	if z.known {
		level = min(level, z.level+speed*float64(at-z.at)/1e9)
	}
	*z = slowZero{level, at, true}
}
