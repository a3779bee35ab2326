package pull

import "tautlog/calc/unit"

// told is what a Finder tells of a trace beside its pulls.
type told struct {
	spikes  []Spike
	zero    ZeroCourse
	largest float64
}

// Spike is a single reading that was taken for electrical and left out of all
// that was measured.
type Spike struct {
	At      int64      // time in nanoseconds
	Reading unit.Force // as read, nothing taken off
}

// mostSpikes is how many spikes are held until they are asked for.
const mostSpikes = 4096

// remake puts v in the place of sample i, a spike, and lists it.
func (f *Finder) remake(i int, v float64) {
	w := &f.win
	if len(f.told.spikes) < mostSpikes {
		f.told.spikes = append(f.told.spikes, Spike{w.time(i), unit.Force(w.force(i))})
	}
	w.f[i-w.base] = v
	w.m[i-w.base] |= spikeRemade
}

// Spikes hands on the spikes that were recognised since it was asked last,
// those of the slack line too. It holds a few thousand; of more in one go the
// later ones are only counted in their pulls.
func (f *Finder) Spikes() []Spike {
	out := f.told.spikes
	f.told.spikes = nil
	return out
}

// Largest is the largest force since the Finder was made that is no spike, or
// the threshold that none came above.
func (f *Finder) Largest() unit.Force { return unit.Force(f.told.largest) }

// ZeroCourse is how the zero of the cell went since the Finder was made: the
// level of the slack line, where that is near enough to zero to be one.
type ZeroCourse struct {
	Seen                   bool
	First, Last, Low, High unit.Force
}

// Zero tells how the zero went.
func (f *Finder) Zero() ZeroCourse { return f.told.zero }

// take notes a level of the slack line.
func (z *ZeroCourse) take(level float64) {
	v := unit.Force(level)
	if !z.Seen {
		*z = ZeroCourse{true, v, v, v, v}
		return
	}
	z.Last, z.Low, z.High = v, min(z.Low, v), max(z.High, v)
}
