package record

import (
	"math/rand/v2"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/ingest/wire"
)

// epoch is host time at the start of the simulated stretches: any will do.
const epoch = int64(1_900_000_000_000_000_000)

// instrument sends readings at an even rate, by its own clock, in frames. A
// buffer on the way hands over what is complete at random moments, at most
// delay apart. Nothing of the sample clock's own model is used.
type instrument struct {
	rate  float64 // readings a true second
	per   int     // in a frame
	skew  float64 // how much faster its clock runs than true
	tick0 uint32
	delay float64 // s
	untimed,
	quiet bool // no tick; nothing sent
	rng *rand.Rand

	n       int     // readings made
	zero    float64 // true time at which the tick was tick0, s
	flushed float64
	pending event
}

// event is what arrives at once.
type event struct {
	at    float64 // true time of the arrival, s
	rs    []wire.Reading
	truth []float64 // when each was taken, s
}

// run gives the arrivals up to a true time.
func (in *instrument) run(until float64, sink func(event)) {
	e := &in.pending
	for {
		last := float64(in.n+in.per-1) / in.rate
		if last > until {
			return
		}
		if last > in.flushed && len(e.rs) > 0 {
			e.at = in.flushed
			sink(*e)
			*e = event{}
		}
		for last > in.flushed {
			in.flushed += in.rng.Float64() * in.delay
		}
		for range in.per {
			t := float64(in.n) / in.rate
			in.n++
			if in.quiet {
				continue
			}
			r := wire.Reading{Timed: !in.untimed}
			if r.Timed {
				r.Tick = in.tick0 + uint32(int64((t-in.zero)*1e6*(1+in.skew)))
			}
			e.rs, e.truth = append(e.rs, r), append(e.truth, t)
		}
	}
}

// judged feeds a clock and keeps what it said.
type judged struct {
	t        require.TestingT
	clock    *sampleClock
	last     int64
	fresh    int
	worst    float64 // s, since it was last set to 0
	previous stamp
	truth    []float64 // of readings that have no times yet
	arrived  float64   // when the first of them came
}

func (j *judged) take(e event, lost int) []stamp {
	got := j.clock.stamp(nil, e.rs, lost, epoch+int64(e.at*1e9))
	if len(j.truth) == 0 {
		j.arrived = e.at
	}
	j.truth = append(j.truth, e.truth...)
	if len(got) == 0 {
		require.Less(j.t, e.at-j.arrived, 0.1, "held back for too long")
		return nil
	}
	truth := j.truth
	j.truth = nil
	require.Len(j.t, got, len(truth))
	for i, s := range got {
		if s.t <= j.last {
			require.Greater(j.t, s.t, j.last, "time went back or stood still")
		}
		if s.fresh {
			j.fresh++
		} else if s.t != j.previous.t+j.previous.step || s.step != j.previous.step {
			require.Equal(j.t, j.previous, s, "off its grid")
		}
		j.last, j.previous = s.t, s
		off := float64(s.t-epoch)/1e9 - truth[i]
		j.worst = max(j.worst, off, -off)
	}
	return got
}

func drawInstrument(t *rapid.T) *instrument {
	rate := rapid.Float64Range(50, 1000).Draw(t, "rate")
	return &instrument{
		rate:  rate,
		per:   rapid.IntRange(1, max(1, int(rate/100))).Draw(t, "per frame"),
		skew:  rapid.Float64Range(-100e-6, 100e-6).Draw(t, "skew"),
		tick0: rapid.OneOf(rapid.Uint32(), rapid.Uint32Range(1<<32-30e6, 1<<32-1)).Draw(t, "first tick"),
		delay: 0.040,
		rng:   rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)),
	}
}

func TestClockIsWithinAMillisecondAfterTenSeconds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		j := &judged{t: t, clock: newSampleClock(in.rate, 0, 0)}
		in.run(10, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.060, "even at first no reading is off by more than the delays")
		j.worst = 0
		in.run(20, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.001)
	})
}

func TestClockNeedsNoNominalRateWithTicks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		wrong := rapid.SampledFrom([]float64{0, 0.1, 0.5, 2, 10}).Draw(t, "nominal rate, of the true one")
		j := &judged{t: t, clock: newSampleClock(in.rate*wrong, 0, 0)}
		in.run(10, func(e event) { j.take(e, 0) })
		j.worst = 0
		in.run(14, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.001)
	})
}

func TestClockFollowsABadResonator(t *testing.T) {
	t.Parallel()
	for _, skew := range []float64{-0.005, 0.005, 0.02} {
		in := &instrument{rate: 1000, per: 10, skew: skew, delay: 0.04, rng: rand.New(rand.NewPCG(3, 3))}
		j := &judged{t: t, clock: newSampleClock(1000, 0, 0)}
		in.run(15, func(e event) { j.take(e, 0) })
		j.worst = 0
		in.run(30, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.001, "skew %g", skew)
	}
}

func TestClockStartsARunWhenTheInstrumentStartsAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		away := rapid.Float64Range(0.3, 20).Draw(t, "away for")
		unplugged := rapid.Bool().Draw(t, "the line was away too")
		j := &judged{t: t, clock: newSampleClock(in.rate, 0, 0)}
		in.run(12, func(e event) { j.take(e, 0) })
		in.quiet = true
		in.run(12+away, func(e event) { j.take(e, 0) })
		after := rapid.Uint32Range(0, 1e6).Draw(t, "tick after")
		if d := int32(in.tick0 + uint32((12+away)*1e6) - after); max(d, -d) < 3e6 {
			t.Skip("by chance its clock goes on nearly as if nothing had happened")
		}
		in.quiet, in.tick0, in.zero = false, after, 12+away
		if unplugged {
			j.clock.lineReturned()
		}
		first, runs := true, false
		in.run(22+away, func(e event) {
			if first {
				e.rs[0].Mark = trace.Lost // its count has started again too
			}
			got := j.take(e, 0)
			if len(got) > 0 && !runs {
				assert.True(t, got[0].fresh, "no new run")
				runs = true
			}
			first = false
		})
		j.worst = 0
		in.run(26+away, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.001)
	})
}

func TestClockKeepsItsMapWhenOnlyTheLineWasAway(t *testing.T) {
	t.Parallel()
	for _, away := range []float64{2, 60, 5000} { // the last beyond a turn of the tick
		in := &instrument{rate: 1000, per: 10, skew: 50e-6, tick0: 1 << 31, delay: 0.04, rng: rand.New(rand.NewPCG(5, 5))}
		j := &judged{t: t, clock: newSampleClock(1000, 0, 0)}
		in.run(40, func(e event) { j.take(e, 0) })
		in.quiet = true
		in.run(40+away, func(e event) { j.take(e, 0) })
		in.quiet = false
		j.clock.lineReturned()
		j.worst = 0
		in.run(45+away, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.001+away*3e-6, "away for %g s", away)
	}
}

func TestClockLeavesAGapWhereFramesAreLost(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		j := &judged{t: t, clock: newSampleClock(in.rate, 0, 0)}
		in.run(12, func(e event) { j.take(e, 0) })
		j.worst = 0
		in.run(20, func(e event) {
			if in.rng.Float64() < 0.2 && len(e.rs) > in.per {
				cut := in.per * (1 + in.rng.IntN(len(e.rs)/in.per-1))
				e.rs, e.truth = e.rs[cut:], e.truth[cut:]
				e.rs[0].Mark = trace.Lost
				before := j.last
				got := j.take(event{e.at, e.rs, e.truth}, cut/in.per)
				gap := float64(got[0].t-before) / 1e9
				assert.InDelta(t, float64(cut+1)/in.rate, gap, in.within())
				assert.True(t, got[0].fresh)
				return
			}
			j.take(e, 0)
		})
		assert.Less(t, j.worst, in.within())
	})
}

// within is how near the fitted times come to the truth once it has run for ten
// seconds, in seconds. That n frames whose delays are up to 40 ms all come more
// than x late has the odds (1 − x/40 ms)ⁿ: of the 600 that a line of 50 frames a
// second has sent, all are more than 1 ms late in one of 4 million draws, and in
// thousands of draws of hundreds of frames each that is seen.
func (in *instrument) within() float64 {
	if in.rate/float64(in.per) < 100 {
		return 0.0015
	}
	return 0.001
}

func TestClockDoesNotFollowALoneDamagedTick(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		in.per = 1
		j := &judged{t: t, clock: newSampleClock(in.rate, 0, 0)}
		in.run(12, func(e event) { j.take(e, 0) })
		j.worst = 0
		in.run(16, func(e event) {
			if i := in.rng.IntN(len(e.rs)); in.rng.Float64() < 0.1 {
				e.rs[i].Tick += uint32(1e6 * (1 + in.rng.Float64()*4000))
			}
			j.take(e, 0)
		})
		assert.Less(t, j.worst, 0.0015)
	})
}

func TestClockSmoothsArrivalsWithoutATick(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		in.untimed = true
		nominal := rapid.SampledFrom([]float64{0, 0.1, 0.95, 1, 1.05, 10}).Draw(t, "nominal rate, of the true one")
		j := &judged{t: t, clock: newSampleClock(in.rate*nominal, 0, 0)}
		in.run(20, func(e event) { j.take(e, 0) })
		j.worst, j.fresh = 0, 0
		first, from := j.last, in.n-len(in.pending.rs)
		in.run(30, func(e event) { j.take(e, 0) })
		made := float64(in.n - len(in.pending.rs) - from)
		assert.Less(t, j.worst, 0.020, "half of what an arrival may be late")
		assert.InEpsilon(t, made/in.rate, float64(j.last-first)/1e9, 0.003)
		assert.Less(t, j.fresh, 60, "readings sit on few grids")
	})
}

func TestClockWithoutATickSkipsWhatWasSilent(t *testing.T) {
	t.Parallel()
	for _, told := range []bool{true, false} {
		in := &instrument{rate: 10, per: 1, untimed: true, delay: 0.04, rng: rand.New(rand.NewPCG(5, 5))}
		j := &judged{t: t, clock: newSampleClock(10, 0, 0)}
		in.run(20, func(e event) { j.take(e, 0) })
		in.quiet = true
		in.run(20.5, func(e event) { j.take(e, 0) })
		in.quiet = false
		first := told
		in.run(20, func(e event) {
			lost := 0
			if first {
				e.rs[0].Mark, lost, first = trace.Lost, 5, false
			}
			j.take(e, lost)
		})
		j.worst = 0
		in.run(30, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.040, "told of the loss: %v", told)
	}
}

func TestClockStartsBehindWhatIsStored(t *testing.T) {
	t.Parallel()
	in := &instrument{rate: 1000, per: 10, delay: 0.01, rng: rand.New(rand.NewPCG(5, 5))}
	stored := epoch + 200e6
	j := &judged{t: t, clock: newSampleClock(1000, 0, stored), last: stored}
	in.run(10, func(e event) { j.take(e, 0) })
	j.worst = 0
	in.run(12, func(e event) { j.take(e, 0) })
	assert.Less(t, j.worst, 0.001)
}

// What waited in a buffer when the line was opened arrives all at once, late.
func TestClockIsNotMisledByABacklog(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstrument(t)
		in.untimed = rapid.Bool().Draw(t, "without ticks")
		in.flushed = rapid.Float64Range(0.05, 3).Draw(t, "backlog, s")
		j := &judged{t: t, clock: newSampleClock(in.rate, 0, 0)}
		in.run(6, func(e event) { j.take(e, 0) })
		assert.Less(t, j.worst, 0.045, "no reading is off by more than what the delays hide")
	})
}

// stepWall moves the wall clock part of a time.Time that has a monotonic
// part, and not the latter, as settimeofday does; package time documents that
// both are there and that Sub goes by the monotonic one.
func stepWall(t time.Time, seconds int64) time.Time {
	w := (*struct {
		wall uint64
		ext  int64
	})(unsafe.Pointer(&t))
	w.wall = uint64(int64(w.wall) + seconds<<30)
	return t
}

func TestWallClockStepMovesNothing(t *testing.T) {
	t.Parallel()
	now := time.Now()
	require.Equal(t, time.Hour, stepWall(now, 3600).Round(0).Sub(now.Round(0)), "the step is real")
	var b timebase
	b.begin(now)
	for _, step := range []int64{3600, -86400} {
		later := stepWall(now.Add(time.Second), step)
		assert.Equal(t, now.UnixNano()+1e9, b.at(later))
		b.check(later)
		assert.Contains(t, b.problem(), "clock was moved by "+(time.Duration(step)*time.Second).String())
	}
	b.check(now.Add(time.Minute))
	assert.Empty(t, b.problem())
}

func TestTimesGoOnBehindTheStoreWhenTheClockWentBack(t *testing.T) {
	t.Parallel()
	now := time.Now()
	var b timebase
	b.begin(now)
	assert.Zero(t, b.goOnFrom(now.UnixNano()-1))
	assert.Equal(t, now.UnixNano(), b.at(now))
	stored := now.Add(2 * time.Hour).UnixNano()
	assert.Equal(t, 2*time.Hour, b.goOnFrom(stored))
	assert.Greater(t, b.at(now), stored)
	assert.Contains(t, b.problem(), "Set the clock")
}
