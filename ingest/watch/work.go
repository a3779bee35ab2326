package watch

import (
	"maps"
	"math"
	"slices"
	"time"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// Work is what a line has carried today, as its cell read it and as far as this
// program saw it: nothing is taken off for a zero, and lone electrical spikes do
// not count. The latest readings, 16 at most, count once it is seen what follows
// them.
type Work struct {
	Since, Until int64       // times of the first and the latest reading that count, ns UTC; 0: none
	Classes      []WorkClass // from the lowest on
	Gaps         float64     // seconds without readings between the two
}

// WorkClass is a class of load: how long the force stood in it, and how many load
// cycles had a range in it. Ranges are counted by the reservoir method, which
// has whole cycles at any moment, from the width of a class on.
type WorkClass struct {
	From, To unit.Force
	Seconds  float64
	Cycles   int
}

const (
	workClasses = 20   // up to the capacity
	workWidth   = 2500 // N: width of a class where the capacity is unknown, a twentieth of five tonnes
)

// work counts what a line carries, from one midnight of this computer's clock
// to the next, in bounded memory.
type work struct {
	width        float64
	rate         float64
	day          time.Time
	since, until int64
	calm         *trace.Calmer // takes lone spikes out, and what is void
	time         *trace.LoadTime
	cycles       *trace.Reservoir
	closed       map[int]int // cycles that can no longer change, by class of their range
}

func newWork(capacity unit.Force, rate float64) *work {
	w := &work{width: float64(capacity) / workClasses, rate: rate}
	if capacity <= 0 {
		w.width = workWidth
	}
	w.begin(time.Time{})
	return w
}

// begin forgets the day before.
func (w *work) begin(day time.Time) {
	*w = work{width: w.width, rate: w.rate, day: day, time: trace.NewLoadTime(w.width, w.rate), closed: map[int]int{}}
	w.cycles = trace.NewReservoir(w.width, func(c trace.Cycle) { w.closed[w.class(c)]++ })
	w.calm = trace.NewCalmer(func(b trace.Batch) {
		w.time.Push(b)
		w.cycles.Push(b.F)
	})
}

func (w *work) class(c trace.Cycle) int { return int(math.Floor(c.Range / w.width)) }

// push counts the next readings; those that it has seen are passed over, as where
// the line is looked at again by another calibration. Zone is that of the days.
func (w *work) push(b trace.Batch, zone *time.Location) {
	if b = after(b, w.until); b.Len() == 0 {
		return
	}
	at := time.Unix(0, b.T[0]).In(zone)
	if day := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, zone); !day.Equal(w.day) {
		w.calm.Close()
		w.begin(day)
		w.since = b.T[0]
	}
	w.until = b.T[b.Len()-1]
	w.calm.Push(b)
}

// sum is what has been carried so far. The line may go on.
func (w *work) sum() Work {
	counts := maps.Clone(w.closed)
	w.cycles.Open(func(c trace.Cycle) { counts[w.class(c)]++ })
	classes, gaps := w.time.Classes()
	out := Work{Since: w.since, Until: w.until, Gaps: gaps}
	for _, c := range classes {
		out.Classes = append(out.Classes, WorkClass{From: unit.Force(c.From), To: unit.Force(c.To), Seconds: c.Seconds})
	}
	if len(classes) == 0 {
		return out
	}
	lowest := int(math.Round(classes[0].From / w.width))
	for _, k := range slices.Sorted(maps.Keys(counts)) {
		if k == 0 { // the gate leaves none, but for what it rounds
			continue
		}
		for len(out.Classes) <= k-lowest { // a range may be larger than any force, where some are below zero
			from := out.Classes[len(out.Classes)-1].To
			out.Classes = append(out.Classes, WorkClass{From: from, To: from + unit.Force(w.width)})
		}
		if k >= lowest {
			out.Classes[k-lowest].Cycles = counts[k]
		}
	}
	return out
}
