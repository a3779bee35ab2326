package watch

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// The history of the worked example of ASTM E1049-85, figure 6, repeated, has by
// the standard's simplified method for repeating histories (5.4.5) the ranges 9,
// 7, 4 and 3, once each (from memory, and by hand: from its top on it is 5 -1 3 -4
// 4 -2 1 -3 5; inside are -1 3 and -2 1, then 4 -3, and 5 -4 is left).
func TestWorkOfALine(t *testing.T) {
	t.Parallel()
	w := newWork(20, 1) // classes of 1 N
	at := time.Date(2026, 5, 1, 23, 58, 0, 0, time.UTC).UnixNano()
	push := func(f float64, m trace.Mark) {
		w.push(trace.Batch{T: []int64{at}, F: []float64{f}, Marks: []trace.Mark{m}}, time.UTC)
		at += 1e9
	}
	for _, f := range []float64{-2, 1, -3, 5, -1, 3, -4, 4, -2} {
		push(f, 0)
	}
	push(19, trace.Invalid)
	cycles := map[unit.Force]int{}
	var seconds float64
	sum := w.sum()
	for _, c := range sum.Classes {
		assert.Equal(t, unit.Force(1), c.To-c.From)
		seconds += c.Seconds
		if c.Cycles > 0 {
			cycles[c.From] = c.Cycles
		}
	}
	assert.Equal(t, map[unit.Force]int{3: 1, 4: 1, 7: 1, 9: 1}, cycles)
	assert.InDelta(t, 8, seconds+sum.Gaps, 1e-9, "nine readings that count, a second apart")
	assert.Equal(t, sum, w.sum(), "asking changes nothing")

	at -= 3e9
	push(4, 0)
	push(-4, 0)
	assert.Equal(t, sum, w.sum(), "what was seen is not counted again")

	at = time.Date(2026, 5, 2, 0, 0, 1, 0, time.UTC).UnixNano()
	push(7, 0)
	sum = w.sum()
	assert.Equal(t, []int64{at - 1e9, at - 1e9}, []int64{sum.Since, sum.Until}, "another day")
	assert.Empty(t, sum.Classes)
}

// A watched cell counts what it carries while a pull is going on and after it.
func TestWatchedCellCountsItsWork(t *testing.T) {
	t.Parallel()
	b := newBench(t, t.TempDir())
	require.Equal(t, Work{}, b.watcher.Work(b.cell.ID+1))
	forces := quiet(9000, 1)
	addSteady(forces, 3000, 4000, 20000) // N; the cell holds 32 kN, so that a class is 1.6 kN
	b.push(forces)
	sum := b.watcher.Work(b.cell.ID)
	assert.InDelta(t, 9, float64(sum.Until-sum.Since)/1e9, 0.01)
	var loaded float64
	cycles := 0
	for _, c := range sum.Classes {
		if c.From >= 16000 {
			loaded += c.Seconds
		}
		cycles += c.Cycles
	}
	assert.InDelta(t, 2.8, loaded, 0.05, "of a second up, 2.5 at the top and half a one down")
	assert.Equal(t, 1, cycles, "up and down once")
}

// A lone spike, up or down, is no load cycle of a line, however readings come; a
// pull is one.
func TestSpikesAreNoWork(t *testing.T) {
	t.Parallel()
	work := func(spikes ...int) Work {
		b := newBench(t, t.TempDir())
		forces := quiet(4000, 1)
		addSteady(forces, 2000, 1500, 10000)
		for k, i := range spikes {
			forces[i] += []int{12000, -12000}[k%2]
		}
		b.push(forces)
		return b.watcher.Work(b.cell.ID)
	}
	want := cyclesOf(work())
	require.Equal(t, 1, total(want), "the pull alone")
	require.Equal(t, want, cyclesOf(work(700)), "one on the quiet line")
	require.Equal(t, want, cyclesOf(work(700, 1600, 2250, 2301, 2700, 3400)))
}

func total(cycles map[unit.Force]int) (n int) {
	for _, c := range cycles {
		n += c
	}
	return n
}

// cyclesOf gives how many cycles there are by the lower end of their class.
func cyclesOf(w Work) map[unit.Force]int {
	out := map[unit.Force]int{}
	for _, c := range w.Classes {
		if c.Cycles > 0 {
			out[c.From] = c.Cycles
		}
	}
	return out
}
