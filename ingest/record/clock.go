package record

import (
	"math"

	"tautlog/analysis/trace"
	"tautlog/ingest/wire"
)

// sampleClock gives readings their times. It is pure: arrival times are
// passed in, in nanoseconds UTC on a clock that never steps.
//
// With a tick from the instrument, ticks are mapped to host time by the
// earliest arrivals. Without one, the count of readings takes the place of
// the tick, at the nominal rate to begin with. Either way readings sit on
// even grids, time never goes back, and readings that are missing leave a gap
// in time.
type sampleClock struct {
	env  envelope
	grid grid

	begun       bool
	timed       bool
	quantum     float64 // ns; how finely the instrument tells time
	period      float64 // ns of instrument time per reading; 0 not known yet
	odd         float64 // an unusual step seen just before; 0 none
	seen        float64 // steps that the period was learnt from
	reconnected bool

	x    int64  // instrument time of the latest reading, ns, unwrapped
	tick uint32 // its tick
	at   int64  // arrival of the latest event

	late     lateness
	learning arrivals
	marks    []mark // scratch
}

// mark is a reading on its way to a time.
type mark struct {
	x     int64
	at    int64 // estimate of its time, once known
	known bool
	jump  bool  // it does not follow the one before at the usual distance
	ahead int64 // then it comes at least so many ns after it
}

// stamp is the time given to a reading.
type stamp struct {
	t, step int64
	fresh   bool // a run begins here
}

const (
	wrap = int64(1) << 32 * 1000 // ns in which a tick of µs comes round

	// An arrival this much before its time, or after it once the line was
	// away, means that the instrument's clock was started again.
	early2s    = int64(2e9)
	lateReturn = int64(1e9)

	tickSkew, tickSkewMost   = 100e-6, 0.05 // quartz; a bad resonator
	countSkew, countSkewMost = 0.01, 0.5    // of a nominal rate
	tickSpan, countSpan      = int64(60e9), int64(30e9)
	defaultQuantum           = 1000.0 // ns
	tolerance                = int64(100e3)
	noPeriod                 = 1e8 // ns; for a lone reading of unknown rate
)

// newSampleClock makes a clock for a cell of that nominal rate (readings a
// second, 0 unknown) whose tick counts in steps of quantum ns. No reading
// will have a time of after or before it.
func newSampleClock(rate, quantum float64, after int64) *sampleClock {
	c := &sampleClock{quantum: max(quantum, defaultQuantum)}
	c.grid.last = after
	if rate > 0 {
		c.period = 1e9 / rate
	}
	return c
}

// lineReturned says that the line was away: the instrument may have been
// started again, and nothing is left in any buffer.
func (c *sampleClock) lineReturned() { c.reconnected = true }

// stamp gives times to readings that arrived together at host time at, lost
// of which the decoder found missing among them, in units of readings.
func (c *sampleClock) stamp(dst []stamp, rs []wire.Reading, lost int, at int64) []stamp {
	if len(rs) == 0 {
		return dst
	}
	if !c.begun || c.timed != rs[0].Timed {
		c.begin(rs[0].Timed)
	}
	c.marks = c.marks[:0]
	if c.timed {
		c.followTicks(rs, at)
	} else {
		c.followCount(rs, lost, at)
	}
	if c.timed || c.period > 0 {
		c.env.add(c.x, at)
		c.settle(c.marks)
		c.checkLateness(len(rs), at)
	}
	c.at, c.reconnected = at, false
	return c.lay(dst)
}

// begin starts with the first reading, or where ticks come or go.
func (c *sampleClock) begin(timed bool) {
	c.timed = timed
	if timed {
		c.env = newEnvelope(tickSkew, tickSkewMost, tickSpan)
		c.grid.tolerance = tolerance + int64(c.quantum)
	} else {
		c.env = newEnvelope(countSkew, countSkewMost, countSpan)
	}
	c.begun = false
}

// settle estimates the times of those marks that have none yet.
func (c *sampleClock) settle(ms []mark) {
	for i := range ms {
		if !ms[i].known {
			ms[i].at, ms[i].known = c.env.at(ms[i].x), true
		}
	}
}

// lay puts the marks on the grid.
func (c *sampleClock) lay(dst []stamp) []stamp {
	period := c.period * (1 + c.env.skew)
	if c.period == 0 {
		period = noPeriod
	}
	for _, m := range c.marks {
		t, fresh := c.grid.place(m.at, period, m.jump, m.ahead)
		dst = append(dst, stamp{t: t, step: c.grid.step, fresh: fresh})
	}
	return dst
}

// restart forgets how the instrument's time relates to the host's.
func (c *sampleClock) restart() {
	c.settle(c.marks)
	c.env.reset()
	c.late = lateness{}
}

// followTicks unwraps the ticks.
func (c *sampleClock) followTicks(rs []wire.Reading, at int64) {
	stood := c.late.all
	c.late.all = 0
	for _, r := range rs {
		step, restarted := c.ticksSince(r.Tick, at)
		m := mark{}
		switch {
		case !c.begun:
			c.begun = true
		case restarted || stood > 0:
			c.restart()
			step, stood, m.jump = int64(c.period), 0, true
			m.ahead = step
		default:
			m.jump, m.ahead = c.learnPeriod(float64(step))
		}
		m.jump = m.jump || r.Mark&trace.Lost != 0
		c.x += step
		c.tick = r.Tick
		m.x = c.x
		c.marks = append(c.marks, m)
	}
}

// ticksSince is the instrument time since the latest reading, ns, or that the
// instrument's clock was started again.
func (c *sampleClock) ticksSince(tick uint32, at int64) (ns int64, restarted bool) {
	if !c.begun {
		return 0, false
	}
	ns = int64(tick-c.tick) * 1000
	if c.env.empty() {
		return ns, ns >= wrap/2
	}
	// After a long silence the tick may have come round more than once.
	if missing := at - c.env.at(c.x+ns); missing > wrap/2 {
		ns += (missing + wrap/2) / wrap * wrap
	}
	late := at - c.env.at(c.x+ns)
	away := c.reconnected || ns >= wrap
	return ns, late < -early2s || (away && late > lateReturn)
}

// learnPeriod learns from a step of instrument time how far readings are
// apart. It says whether readings are missing in it or their rate changed,
// and how far ahead the reading then is at least: half of a gap is kept even
// where an offset is still being worked off.
func (c *sampleClock) learnPeriod(step float64) (jump bool, ahead int64) {
	before := c.period
	switch {
	case before > 0 && math.Abs(step-before) <= max(0.5*before, c.quantum):
		c.seen = min(c.seen+1, 256)
		c.period += (step - before) / c.seen
		c.odd = 0
		return false, int64(step)
	case before == 0, c.odd > 0 && math.Abs(step-c.odd) <= 0.1*c.odd:
		c.period, c.seen, c.odd = step, 1, 0
		return true, int64(step / 2)
	default:
		c.odd = step
		return true, int64(min(step, (step+before)/2))
	}
}
