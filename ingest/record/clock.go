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
	odd         float64 // an unusual step seen just before, ns; 0 none
	alike       int     // how many like it came one after the other
	seen        float64 // steps that the period was learnt from
	reconnected bool

	x    int64  // instrument time of the latest reading, ns, unwrapped
	tick uint32 // its tick

	suspect   uint32 // the latest tick that was not believed
	suspected bool

	at int64 // arrival of the latest event

	late     lateness
	learning arrivals
	marks    []mark // of readings that have no times yet
	holding  bool   // until the map is known a little better
	until    int64
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
	earlyMost  = int64(2e9)
	lateReturn = int64(1e9)
	// An arrival this much before its time is odd enough to be looked at
	// twice.
	earlySome = int64(1e8)

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
//
// For holdTime after the first arrivals it gives none: what waited in a
// buffer when the line was opened arrives late, and what follows it shows by
// how much. Readings that were held back get their times together with later
// ones, in their order, or by release.
func (c *sampleClock) stamp(dst []stamp, rs []wire.Reading, lost int, at int64) []stamp {
	if len(rs) == 0 {
		return dst
	}
	if !c.begun || c.timed != rs[0].Timed {
		c.begin(rs[0].Timed)
	}
	if c.timed {
		c.followTicks(rs, at)
	} else {
		c.followCount(rs, lost, at)
	}
	if c.timed || c.period > 0 {
		if c.env.empty() {
			c.holding, c.until = true, at+holdTime
		}
		c.env.add(c.x, at)
		c.checkLateness(len(rs), at)
	}
	c.at, c.reconnected = at, false
	if c.holding && at < c.until {
		return dst
	}
	return c.release(dst)
}

// release gives times to all readings that have none yet.
func (c *sampleClock) release(dst []stamp) []stamp {
	if c.holding {
		c.env.forgetLate(holdLate)
		c.holding = false
	}
	c.settle(c.marks)
	dst = c.lay(dst)
	c.marks = c.marks[:0]
	return dst
}

const (
	holdTime = int64(100e6)  // ns
	holdLate = float64(50e6) // ns; what is later than that waited in a buffer
)

// begin starts with the first reading, or where ticks come or go.
func (c *sampleClock) begin(timed bool) {
	c.timed = timed
	c.settle(c.marks)
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
	for i, r := range rs {
		step, odd := c.ticksSince(r.Tick, at)
		tick, lost := r.Tick, r.Mark&trace.Lost != 0
		c.suspected = c.suspected && odd != regular
		if odd != regular && !lost && !c.reconnected && !c.borneOut(rs[i:]) {
			step, odd = int64(c.period), regular
			tick = c.tick + uint32(step/1000)
		}
		m := mark{}
		switch {
		case !c.begun:
			c.begun = true
		case odd == restarted || stood > 0:
			c.restart()
			step, stood, m.jump = int64(c.period), 0, true
			m.ahead = step
		default:
			m.jump, m.ahead = c.learnPeriod(float64(step))
		}
		if lost {
			m.jump, c.odd = true, 0 // such a step shows no rate
		}
		c.x += step
		c.tick = tick
		m.x = c.x
		c.marks = append(c.marks, m)
	}
}

// oddity is how a tick agrees with those before.
type oddity uint8

const (
	regular   oddity = iota
	ahead            // further ahead than its arrival allows for, by little
	restarted        // the instrument's clock was started again
)

// ticksSince is the instrument time since the latest reading, ns, and how
// well it agrees with the arrival.
func (c *sampleClock) ticksSince(tick uint32, at int64) (ns int64, odd oddity) {
	if !c.begun {
		return 0, regular
	}
	ns = int64(tick-c.tick) * 1000
	if c.env.empty() {
		if ns >= wrap/2 {
			odd = restarted
		}
		return ns, odd
	}
	// After a long silence the tick may have come round more than once.
	if missing := at - c.env.at(c.x+ns); missing > wrap/2 {
		ns += (missing + wrap/2) / wrap * wrap
	}
	late := at - c.env.at(c.x+ns)
	away := c.reconnected || ns >= wrap
	switch {
	case late < -earlyMost || (away && late > lateReturn):
		return ns, restarted
	case late < -earlySome:
		return ns, ahead
	}
	return ns, regular
}

// borneOut says whether an odd tick is to be believed: the reading after it
// goes on from there. A line of text has no checksum, so that a lone odd tick
// is rather a damaged digit.
func (c *sampleClock) borneOut(rs []wire.Reading) bool {
	few := uint32(8*c.period/1000) + 1000
	suspect, had := c.suspect, c.suspected
	c.suspect, c.suspected = rs[0].Tick, true
	if had && rs[0].Tick-suspect <= few {
		return true
	}
	return len(rs) > 1 && rs[1].Tick-rs[0].Tick <= few
}

// learnPeriod learns from a step of instrument time how far readings are
// apart. It says whether readings are missing in it or their rate changed,
// and how far ahead the reading then is at least: half of a gap is kept even
// where an offset is still being worked off.
func (c *sampleClock) learnPeriod(step float64) (jump bool, ahead int64) {
	before := c.period
	if before > 0 && math.Abs(step-before) <= max(0.5*before, c.quantum) {
		c.seen = min(c.seen+1, 256)
		c.period += (step - before) / c.seen
		c.odd, c.alike = 0, 0
		return false, int64(step)
	}
	if c.alike++; c.odd == 0 || math.Abs(step-c.odd) > max(0.1*c.odd, c.quantum) {
		c.odd, c.alike = step, 1
	}
	if before == 0 || c.alike == enough {
		c.period, c.seen, c.odd = step, 1, 0
		return true, int64(step / 2)
	}
	return true, int64(min(step, (step+before)/2))
}

// enough unusual steps alike, one after the other, are a new rate and not
// readings that were lost.
const enough = 4
