package pull

import (
	"math"
	"sort"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
)

// Why a stretch cannot be measured as a pull.
var (
	ErrNoReadings      error = words.Kind("measured.set.noreading")
	ErrNoPull          error = words.Kind("measured.set.nopull")
	ErrTwoCalibrations error = words.Kind("measured.set.calibrations")
)

// Stretch measures a pull whose start and end a person has set, with the code
// that measures those that a Finder finds. It is shown the samples from
// some quiet line before the limits to some seconds behind them; for any split
// of the same samples it gives the same pull. The finder runs up to the start,
// so that the zero is that of the last quiet line before it.
//
// Set to the limits that a Finder found, it gives the same pull, but for the
// flag that says so and for what the readings just behind the end tell of the
// filter.
type Stretch struct {
	f        *Finder
	from, to int64
	first    int // index of the first sample within, -1 before it came
	last     int // index behind the last one, likewise
	until    int64
	all      tally
	ended    bool // all is known
	over     bool // nothing more is looked at
	err      error
}

// NewStretch makes a Stretch of the samples from one time to another, both
// included, in ns on the clock of the samples.
func NewStretch(cfg Config, from, to int64) *Stretch {
	return &Stretch{f: NewFinder(cfg), from: from, to: to, first: -1, last: -1, until: math.MaxInt64}
}

// Push takes the next samples.
func (s *Stretch) Push(b trace.Batch) {
	if n := sort.Search(b.Len(), func(i int) bool { return b.T[i] >= s.from }); n > 0 {
		s.f.Push(b.Slice(0, n))
		b = b.Slice(n, b.Len())
	}
	for from := 0; from < b.Len() && !s.over; {
		n := s.f.atOnce(b.Len() - from)
		s.take(b.Slice(from, from+n))
		from += n
	}
}

// take takes samples from the start on, no more than fit the window.
func (s *Stretch) take(b trace.Batch) {
	if s.first < 0 {
		s.begin(b.T[0])
	}
	n := sort.Search(b.Len(), func(i int) bool { return b.T[i] >= s.until })
	if n < b.Len() && b.T[n] <= s.to {
		s.err = words.Error("measured.set.calibrations.at", ErrTwoCalibrations, float64(s.until-s.from)/1e9)
		s.over = true
		return
	}
	if within := sort.Search(n, func(i int) bool { return b.T[i] > s.to }); s.last < 0 && within < n {
		s.f.takeIn(b.Slice(0, within))
		s.last = s.f.win.end()
		s.f.takeIn(b.Slice(within, n))
	} else {
		s.f.takeIn(b.Slice(0, n))
	}
	s.advance(s.f.win.end() - 2)
	if n < b.Len() {
		s.close() // what follows was read by another calibration
	}
}

// begin takes notice of the first sample from the start on, which was taken at t.
func (s *Stretch) begin(t int64) {
	if known := s.f.cfg.Calibration; known != nil {
		if s.f.until != 0 && t >= s.f.until {
			s.f.Close() // the line before was read by another calibration
		}
		s.until = known(t, 0).Until
	}
	s.first = s.f.win.end()
}

// advance looks at the samples before end.
func (s *Stretch) advance(end int) {
	f := s.f
	if !f.pull.set {
		f.advance(min(end, s.first))
		if f.phase == beginning || f.at < s.first || end <= s.first {
			return
		}
		f.startSet(s.first)
	}
	within := end
	if s.last >= 0 {
		within = min(end, s.last)
	}
	for ; f.at < within; f.at++ {
		f.clean(f.at)
		f.full = max(f.full, f.win.force(f.at))
		f.pull.c.add(&f.win, f.at)
	}
	if f.at == s.last {
		s.sum()
	}
	for ; s.ended && !s.over && f.at < end; f.at++ {
		f.clean(f.at)
		if float64(f.win.time(f.at)-f.pull.c.end)/1e9 >= mergeSeconds {
			f.measureAfterSet(f.at)
			s.over = true
		}
	}
}

// sum ends the stretch before the sample at hand.
func (s *Stretch) sum() {
	if !s.ended {
		s.all, s.ended = s.f.pull.c.sum(&s.f.win, s.f.at), true
	}
}

// close looks at what was taken in to its end.
func (s *Stretch) close() {
	f := s.f
	if f.phase == beginning && f.win.end() > f.edge {
		f.begin(f.win.end())
	}
	s.advance(f.win.end())
	s.over = true
}

// Close ends the trace and returns the pull: ErrNoReadings, ErrNoPull or
// ErrTwoCalibrations where there is none. The Stretch is of no use afterwards.
func (s *Stretch) Close() (Pull, error) {
	if !s.over && s.first >= 0 {
		s.close()
	}
	f := s.f
	switch {
	case s.err != nil:
		return Pull{}, s.err
	case !f.pull.set || f.pull.c.n == 0:
		return Pull{}, ErrNoReadings
	}
	s.sum()
	p := f.measure(&f.pull, s.all, f.pull.c.tally, f.pull.c.end)
	if p == nil {
		return Pull{}, ErrNoPull
	}
	return *p, nil
}

// startSet begins a pull at sample i, where a person has set its start.
func (f *Finder) startSet(i int) {
	p := f.pull
	switch {
	case f.phase == taut && p.begin == i && p.c.n == 0: // it begins there anyway
	case f.phase == taut:
		f.startPull(i, i+1, p.rest)
		f.pull.underWay, f.pull.cutIn = p.underWay, p.underWay
	default:
		rest, _, ok := f.restBefore(i)
		if !ok {
			rest = f.restFollowed()
		}
		f.held = nil
		f.startPull(i, i+1, rest)
	}
	f.pull.set = true
}

// measureAfterSet measures the line that followed, up to sample i, where it is
// at rest there.
func (f *Finder) measureAfterSet(i int) {
	for k := f.settled(i, f.pull.c.end); k < i; k++ {
		if f.win.force(k) > f.pull.hi {
			return
		}
	}
	f.measureAfter(i, f.pull.c.end)
}

// noteSet says that a person set the limits, and where the line was under load
// there.
func (m *measured) noteSet(p *tautLine, ended tally) {
	says := words.Say("measured.set")
	atStart, atEnd := m.course.f[0]+float64(m.Zero) > p.hi, ended.last > p.hi
	switch {
	case atStart && atEnd:
		says += " " + words.Say("measured.set.both")
	case atStart:
		says += " " + words.Say("measured.set.start")
	case atEnd:
		says += " " + words.Say("measured.set.end")
	}
	m.note(FlagSetByHand, says)
	if atStart && m.PeakAt == m.Start || atEnd && m.PeakAt == m.End {
		m.note(FlagPeakAtLimit, words.Say("measured.set.peak"))
	}
}
