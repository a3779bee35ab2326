package pull

import "tautlog/analysis/trace"

// takeIn puts samples into the window and marks the gaps between them.
func (f *Finder) takeIn(b trace.Batch) {
	f.win.room(b.Len(), f.at)
	for from := 0; from < b.Len(); {
		n := f.usable(b, from)
		if n == 0 {
			f.void = true
			f.prevVoid(b.T[from])
			from++
			continue
		}
		f.append(b.Slice(from, from+n))
		from += n
	}
}

// usable is the number of samples from here on that can be forces.
func (f *Finder) usable(b trace.Batch, from int) int {
	n := b.Len() - from
	for i, v := range b.F[from : from+n] {
		if !sane(v) {
			n = i
			break
		}
	}
	if b.Marks == nil {
		return n
	}
	for i, m := range b.Marks[from : from+n] {
		if m&trace.Invalid != 0 {
			return i
		}
	}
	return n
}

// prevVoid notes the time of a reading that is left out: it is no gap.
func (f *Finder) prevVoid(t int64) {
	if f.seen > 0 {
		f.prev = t
	}
}

func (f *Finder) append(b trace.Batch) {
	n := len(f.win.t)
	f.win.add(b)
	if f.void {
		f.win.m[n] |= voidBefore
		f.void = false
	}
	t := b.T
	if f.seen == 0 {
		f.prev, t = t[0], t[1:]
		n++
	}
	m := f.win.m[n:]
	for len(t) > 0 {
		k := min(len(t), f.pace.Due())
		f.pace.Times(f.prev, t[:k], func(i int) { m[i] |= gapBefore })
		f.prev, t, m = t[k-1], t[k:], m[k:]
		if step := f.pace.Step(); len(f.steps) == 0 || f.steps[len(f.steps)-1].step != step {
			f.steps = append(f.steps, stepFrom{f.win.end() - len(t), step})
		}
	}
	f.prev = b.T[len(b.T)-1]
	f.seen += len(b.T)
}

// stepFrom is the usual interval in nanoseconds as known from a sample on.
// The samples that are looked at trail those taken in, by how much depends on
// how they were pushed; what is found must not.
type stepFrom struct {
	at   int
	step float64
}

// step is the usual interval in seconds as known at the sample at hand; 0
// while it is not known.
func (f *Finder) step() float64 {
	for len(f.steps) > 1 && f.steps[1].at <= f.at {
		f.steps = f.steps[:copy(f.steps, f.steps[1:])]
	}
	if len(f.steps) == 0 {
		return 0
	}
	return f.steps[0].step / 1e9
}
