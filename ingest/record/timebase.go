package record

import (
	"sync/atomic"
	"time"

	"tautlog/calc/words"
)

// timebase turns moments of this process into nanoseconds UTC that never
// step: the wall clock is read once, from then on only the monotonic clock
// counts.
type timebase struct {
	base   time.Time
	origin int64 // ns UTC at base
	behind atomic.Int64
	moved  atomic.Int64
}

// begin reads the wall clock.
func (b *timebase) begin(now time.Time) {
	b.base, b.origin = now, now.UnixNano()
}

// goOnFrom makes times go on behind the latest stored reading where the wall
// clock is well behind it, and tells how far it is.
func (b *timebase) goOnFrom(latest int64) time.Duration {
	behind := latest - b.origin
	if behind <= clockBehind {
		return 0
	}
	b.origin = latest + int64(time.Millisecond)
	b.behind.Store(behind)
	return time.Duration(behind)
}

// at is the time of a moment, ns UTC.
func (b *timebase) at(t time.Time) int64 { return b.origin + int64(t.Sub(b.base)) }

// clockMoved is how far the wall clock may go its own way before people are
// told.
const clockMoved = 2 * time.Second

// check compares the wall clock with the monotonic one.
func (b *timebase) check(now time.Time) {
	moved := now.Round(0).Sub(b.base.Round(0)) - now.Sub(b.base)
	if moved.Abs() < clockMoved {
		moved = 0
	}
	b.moved.Store(int64(moved))
}

// problem says what is wrong with the clock, and what to do.
func (b *timebase) problem() string {
	if d := time.Duration(b.behind.Load()); d > 0 {
		return words.Say("record.clock.behind", d.Round(time.Second))
	}
	if d := time.Duration(b.moved.Load()); d != 0 {
		return words.Say("record.clock.moved", d.Round(time.Second))
	}
	return ""
}
