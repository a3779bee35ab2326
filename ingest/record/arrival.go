package record

import (
	"math"

	"tautlog/analysis/trace"
	"tautlog/ingest/wire"
)

// followCount lets the count of readings take the place of a tick.
func (c *sampleClock) followCount(rs []wire.Reading, lost int, at int64) {
	jump := c.reconnected
	if c.reconnected {
		c.restart()
		c.learning = arrivals{}
	}
	if c.grid.last > at+aheadMost {
		c.period = 0 // the nominal rate is far too low
		c.restart()
	}
	if c.period == 0 {
		c.spread(rs, at)
		return
	}
	c.grid.tolerance = max(tolerance, int64(c.period/8))
	jump = c.skipSilence(len(rs)+lost, at) || jump
	marked := countLost(rs)
	for _, r := range rs {
		m := mark{ahead: int64(c.period), jump: jump}
		jump = false
		if r.Mark&trace.Lost != 0 {
			missing := max(1, lost/marked)
			lost, marked = lost-missing, marked-1
			m.jump = true
			m.ahead += int64(c.period * float64(missing))
			c.x += int64(c.period * float64(missing))
		}
		c.x += int64(c.period)
		m.x = c.x
		c.marks = append(c.marks, m)
	}
	c.begun = true
}

func countLost(rs []wire.Reading) (n int) {
	for _, r := range rs {
		if r.Mark&trace.Lost != 0 {
			n++
		}
	}
	return n
}

// skipSilence moves the count on where nothing came for longer than the n
// readings that now came make up for: the instrument was silent, its count
// was not. It also makes up for what all late arrivals have shown.
func (c *sampleClock) skipSilence(n int, at int64) (jump bool) {
	if c.env.empty() {
		return false
	}
	skip := c.late.all
	c.late.all = 0
	now := int64(float64(n) * c.period)
	if late := at - c.env.at(c.x+now); late > max(int64(4*c.period), lateSilence, 2*now) {
		skip = late
	}
	steps := math.Round(float64(skip) / c.period)
	c.x += int64(steps * c.period)
	return steps > 0
}

const (
	lateSilence = int64(25e7) // ns
	lateCount   = int64(25e6) // ns
	aheadMost   = int64(5e8)  // ns
)

// spread gives times to readings of unknown rate: evenly between the arrival
// before and their own. Meanwhile the rate is learnt.
func (c *sampleClock) spread(rs []wire.Reading, at int64) {
	from := c.at
	if !c.begun || c.reconnected || at <= from {
		from = at - int64(len(rs))
	}
	for i := range rs {
		t := from + (at-from)*int64(i+1)/int64(len(rs))
		c.marks = append(c.marks, mark{at: t, known: true, jump: true})
	}
	c.begun = true
	if period, ok := c.learning.add(len(rs), at); ok {
		c.period, c.env.center = period, 0
		c.learning = arrivals{}
	}
}

// arrivals learns how far readings are apart from when they arrived.
type arrivals struct {
	first int64
	n     int
	begun bool
}

// add takes n readings that arrived at host time at, and tells the time
// between readings once a second and eight readings have shown it.
func (a *arrivals) add(n int, at int64) (period float64, ok bool) {
	if !a.begun {
		a.first, a.begun = at, true
		return 0, false
	}
	a.n += n
	if a.n < 8 || at-a.first < 1e9 {
		return 0, false
	}
	return float64(at-a.first) / float64(a.n), true
}

// lateness is the least delay of the latest arrivals.
type lateness struct {
	from     int64
	least    int64
	n        int   // arrivals
	readings int   // that they brought, but for the first
	all      int64 // ns that all of them were late, to be acted upon; 0 none
}

// checkLateness notices arrivals that are all late for seconds. No buffer
// does that: the instrument's clock stood still, or readings were lost that
// nothing told of. Without a tick it also notices a rate that is nothing like
// the nominal one.
func (c *sampleClock) checkLateness(n int, at int64) {
	l := &c.late
	late := at - c.env.at(c.x)
	if l.n == 0 {
		*l = lateness{from: at, least: late, all: l.all}
	} else {
		l.readings += n
	}
	l.n++
	l.least = min(l.least, late)
	if l.n < 16 || at-l.from < 2e9 {
		return
	}
	w := *l
	*l = lateness{}
	period := float64(at-w.from) / float64(w.readings)
	switch now := c.period * (1 + c.env.skew); {
	case c.timed && w.least > lateSilence:
		l.all = w.least
	case !c.timed && (period > 1.4*now || period < 0.7*now):
		c.period, c.env.center = period, 0
		c.env.reset()
	case !c.timed && w.least > max(int64(c.period*3/4), lateCount):
		l.all = w.least
	}
}
