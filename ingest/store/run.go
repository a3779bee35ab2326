package store

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"tautlog/analysis/trace"
)

// Run is a stretch of readings of one cell on an even time grid: reading i
// was taken at Start + i·Step, rounded to a nanosecond. Use At for the times.
type Run struct {
	Cell  int64
	Start int64   // time of the first reading, ns UTC
	Step  float64 // ns from one reading to the next, at least 1
	Raw   []int64
	Marks []trace.Mark // nil: all ordinary; else as long as Raw

	// skip is how many readings of the grid lie before the first one here:
	// it lets a run that was cut keep the exact times of the whole.
	skip int64
}

// At is the time of reading i, ns UTC.
func (r Run) At(i int) int64 {
	if r.skip == 0 {
		return r.Start + gridOffset(r.Step, int64(i))
	}
	return r.Start + gridOffset(r.Step, r.skip+int64(i)) - gridOffset(r.Step, r.skip)
}

// Times appends the times of all readings, ns UTC: At of each.
func (r Run) Times(t []int64) []int64 {
	n := len(t)
	t = slices.Grow(t, len(r.Raw))[:n+len(r.Raw)]
	part := t[n:]
	if step := int64(r.Step); float64(step) == r.Step && r.Step*float64(r.skip+int64(len(r.Raw))) < 1<<53 {
		for i, at := 0, r.Start; i < len(part); i++ { // nothing to round
			part[i] = at
			at += step
		}
		return t
	}
	for i := range part {
		part[i] = r.At(i)
	}
	return t
}

func gridOffset(step float64, i int64) int64 { return int64(math.Round(step * float64(i))) }

// Last is the time of the last reading, ns UTC. The run must not be empty.
func (r Run) Last() int64 { return r.At(len(r.Raw) - 1) }

// Mark is the mark of reading i.
func (r Run) Mark(i int) trace.Mark {
	if r.Marks == nil {
		return 0
	}
	return r.Marks[i]
}

// slice is the run with readings i up to j only, on the same grid.
func (r Run) slice(i, j int) Run {
	cut := r
	cut.Start, cut.skip = r.At(i), r.skip+int64(i)
	cut.Raw = r.Raw[i:j:j]
	if r.Marks != nil {
		cut.Marks = r.Marks[i:j:j]
	}
	return cut
}

// window is the part of the run from time from up to, not including, to.
func (r Run) window(from, to int64) Run {
	n := len(r.Raw)
	if n == 0 || (from <= r.Start && to > r.Last()) {
		return r
	}
	i := sort.Search(n, func(i int) bool { return r.At(i) >= from })
	j := i + sort.Search(n-i, func(k int) bool { return r.At(i+k) >= to })
	return r.slice(i, j)
}

// continuedBy tells whether next lies on the same grid just behind r, so that
// both are one run with every time as it was.
func (r Run) continuedBy(next Run) bool {
	n := len(r.Raw)
	if r.Step != next.Step || r.At(n) != next.Start {
		return false
	}
	if r.Step == math.Trunc(r.Step) || next.skip == r.skip+int64(n) {
		return true
	}
	for i := range next.Raw {
		if r.At(n+i) != next.At(i) {
			return false
		}
	}
	return true
}

// joinRuns copies runs into as few as hold the same readings at the same
// times.
func joinRuns(runs []Run) []Run {
	raw := make([]int64, 0, countReadings(runs))
	var out []Run
	for _, r := range runs {
		begin := len(raw)
		raw = append(raw, r.Raw...)
		if k := len(out) - 1; k >= 0 && out[k].continuedBy(r) {
			if out[k].Marks != nil || r.Marks != nil {
				out[k].Marks = slices.Concat(out[k].marks(), r.marks())
			}
			out[k].Raw = raw[begin-len(out[k].Raw):]
			continue
		}
		r.Raw = raw[begin:]
		out = append(out, r)
	}
	return out
}

func (r Run) marks() []trace.Mark {
	if r.Marks == nil {
		return make([]trace.Mark, len(r.Raw))
	}
	return r.Marks
}

// check refuses a run whose readings could not be told apart in time or that
// runs out of the time that 64 bits of nanoseconds hold.
func (r Run) check() error {
	n := len(r.Raw)
	switch {
	case r.Marks != nil && len(r.Marks) != n:
		return fmt.Errorf("store: a run of %d readings with %d marks: %w", n, len(r.Marks), ErrInvalid)
	case !(r.Step >= 1 && r.Step <= math.MaxInt64/2):
		return fmt.Errorf("store: readings %g ns apart, want at least 1: %w", r.Step, ErrInvalid)
	case r.Start < -maxTime || r.Start > maxTime || r.skip < 0 || r.skip > maxTime || r.Step*float64(r.skip+int64(n)) > maxTime:
		return fmt.Errorf("store: a run from %d ns with %d readings %g ns apart leaves the range of time: %w", r.Start, n, r.Step, ErrInvalid)
	}
	return nil
}

// maxTime leaves room for sums: half of what 64 bits hold, the year 2116.
const maxTime = math.MaxInt64 / 2
