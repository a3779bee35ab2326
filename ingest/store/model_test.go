package store

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

// reading is what a store must give back: the model of these tests is a plain
// list of them.
type reading struct {
	at, raw int64
	mark    trace.Mark
}

func readings(runs []Run) (out []reading) {
	for _, r := range runs {
		for i, v := range r.Raw {
			out = append(out, reading{r.At(i), v, r.Mark(i)})
		}
	}
	return out
}

// within gives the part of a sorted list from one time up to another.
func within(all []reading, from, to int64) []reading {
	i := sort.Search(len(all), func(i int) bool { return all[i].at >= from })
	j := sort.Search(len(all), func(i int) bool { return all[i].at >= to })
	return all[i:max(i, j)]
}

// drawRun draws a run that begins at start.
func drawRun(t *rapid.T, cell, start int64) Run {
	r := Run{Cell: cell, Start: start}
	r.Step = rapid.SampledFrom([]float64{1, 1e6, 1e6 + 1.0/3, 999_999.874, 12.5e6, 1e9 / 7}).Draw(t, "step")
	r.Raw = anyReadings(t, "run", 700)
	if rapid.IntRange(0, 3).Draw(t, "has marks") == 0 {
		r.Marks = rapid.SliceOfN(rapid.SampledFrom([]trace.Mark{0, 0, 0, trace.Invalid, trace.Lost, trace.Overload | trace.Lost}), len(r.Raw), len(r.Raw)).Draw(t, "marks")
	}
	return r
}

// machine drives a store and the model side by side.
type machine struct {
	dir  string
	s    *Store
	cell int64
	want []reading
	o    Options
}

func (m *machine) open(t *rapid.T) {
	s, err := Open(m.dir, m.o)
	require.NoError(t, err)
	m.s = s
}

func (m *machine) reopen(t *rapid.T) {
	require.NoError(t, m.s.Close())
	m.open(t)
	require.Empty(t, m.s.Damage())
}

func (m *machine) append(t *rapid.T) {
	start := morning
	if n := len(m.want); n > 0 {
		pause := rapid.SampledFrom([]int64{1, 1e6, 1e6, 3e6, 40e9, 86_400e9}).Draw(t, "pause")
		start = m.want[n-1].at + pause
		if rapid.IntRange(0, 5).Draw(t, "before") == 0 { // a clock set back by ten days
			start = m.want[0].at - 10*86_400e9
		}
	}
	var runs []Run
	for range rapid.IntRange(1, 3).Draw(t, "runs") {
		r := drawRun(t, m.cell, start)
		if runs == nil || rapid.Bool().Draw(t, "off the grid") {
			r.Start = start + 7
		} else {
			r.Step = runs[len(runs)-1].Step
		}
		runs = append(runs, kept(r))
		start = r.At(len(r.Raw))
	}
	require.NoError(t, m.s.Append(context.Background(), runs))
	m.want = append(m.want, readings(runs)...)
	slices.SortStableFunc(m.want, func(a, b reading) int { return int(min(max(a.at-b.at, -1), 1)) })
}

// appendOver tries to store readings where there are some: nothing changes.
func (m *machine) appendOver(t *rapid.T) {
	if len(m.want) == 0 {
		return
	}
	at := m.want[rapid.IntRange(0, len(m.want)-1).Draw(t, "over")].at
	begin := at - rapid.SampledFrom([]int64{0, 1e6, 1e9}).Draw(t, "lead")
	err := m.s.Append(context.Background(), []Run{{Cell: m.cell, Start: begin, Step: max(1, float64(at-begin)), Raw: []int64{1, 2}}})
	require.ErrorIs(t, err, ErrOverlap)
}

func (m *machine) fold(t *rapid.T) {
	_, err := m.s.Fold(context.Background(), m.cell)
	require.NoError(t, err)
}

// window draws a window with its ends on, beside or between readings.
func (m *machine) window(t *rapid.T) (from, to int64) {
	end := func(label string) int64 {
		if len(m.want) == 0 || rapid.IntRange(0, 9).Draw(t, label+" far") == 0 {
			return rapid.Int64Range(morning-1e15, morning+1e15).Draw(t, label)
		}
		return m.want[rapid.IntRange(0, len(m.want)-1).Draw(t, label)].at + rapid.Int64Range(-1, 1).Draw(t, "off")
	}
	return end("from"), end("to")
}

func (m *machine) check(t *rapid.T) {
	from, to := m.window(t)
	var runs []Run
	for r, err := range m.s.Runs(context.Background(), m.cell, from, to) {
		require.NoError(t, err)
		require.NoError(t, r.check())
		runs = append(runs, kept(r))
	}
	same(t, within(m.want, from, to), readings(runs))
}

// same is require.Equal for long lists, without the long text.
func same(t require.TestingT, want, got []reading) {
	if slices.Equal(want, got) {
		return
	}
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i], got[i], "reading %d of %d", i, len(want))
	}
}

// checkOutline compares an outline with the readings it stands for.
func (m *machine) checkOutline(t *rapid.T) {
	from, to := m.window(t)
	if to <= from {
		return
	}
	columns := rapid.SampledFrom([]int{1, 2, 3, 10, 300}).Draw(t, "columns")
	got, err := m.s.Outline(context.Background(), m.cell, from, to, columns)
	require.NoError(t, err)
	require.LessOrEqual(t, len(got), columns)
	checkColumns(t, valid(within(m.want, from, to)), got, from, to, columns)
}

func valid(all []reading) (out []reading) {
	for _, r := range all {
		if r.mark&trace.Invalid == 0 {
			out = append(out, r)
		}
	}
	return out
}

// checkColumns holds an outline to its promise: the columns are consecutive,
// together hold every reading once, begin within their nominal borders and
// have the true extremes.
func checkColumns(t require.TestingT, all []reading, got []Column, from, to int64, columns int) {
	width := float64(to-from) / float64(columns)
	at := 0
	for _, c := range got {
		require.Positive(t, c.N)
		require.LessOrEqual(t, at+c.N, len(all))
		mine := all[at : at+c.N]
		at += c.N
		want := Column{From: mine[0].at, To: mine[len(mine)-1].at, Min: math.MaxInt64, Max: math.MinInt64, N: len(mine)}
		for _, r := range mine {
			want.Min, want.Max = min(want.Min, r.raw), max(want.Max, r.raw)
		}
		require.Equal(t, want, c)
		nominal := math.Floor(float64(c.From-from) / width)
		require.LessOrEqual(t, float64(c.To-from), (nominal+1+1.0/perColumn)*width+1, "column reaches too far")
	}
	require.Equal(t, len(all), at, "readings in all columns")
}

func TestAnySequenceGivesBackTheSameReadings(t *testing.T) {
	t.Parallel()
	root, count := t.TempDir(), 0
	rapid.Check(t, func(t *rapid.T) {
		count++
		fold := rapid.SampledFrom([]int{300, 2000, 20_000}).Draw(t, "fold at")
		m := &machine{dir: filepath.Join(root, fmt.Sprint(count)), o: Options{foldReadings: fold, foldTails: 40}}
		m.open(t)
		defer func() { _ = m.s.Close() }()
		c, err := m.s.SaveCell(context.Background(), Cell{Name: "a"})
		require.NoError(t, err)
		m.cell = c.ID
		t.Repeat(map[string]func(*rapid.T){
			"append": m.append, "append more": m.append, "append over": m.appendOver, "fold": m.fold, "reopen": m.reopen,
			"read": m.check, "outline": m.checkOutline,
		})
		same(t, m.want, readings(collectAll(t, m)))
		require.NoError(t, m.s.Integrity(context.Background()))
	})
}

func collectAll(t *rapid.T, m *machine) (out []Run) {
	for r, err := range m.s.Runs(context.Background(), m.cell, -maxTime, math.MaxInt64) {
		require.NoError(t, err)
		out = append(out, kept(r))
	}
	return out
}

// kept is a run that outlasts its step of a sequence.
func kept(r Run) Run {
	r.Raw = slices.Clone(r.Raw)
	return r
}

// All times at once are those of one after the other.
func TestTimesAreThoseOfEach(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := drawRun(t, 1, rapid.Int64Range(-1e18, 1e18).Draw(t, "start"))
		if n := len(r.Raw); n > 0 {
			r = r.slice(rapid.IntRange(0, n-1).Draw(t, "first"), n)
		}
		want := []int64{7}
		for i := range r.Raw {
			want = append(want, r.At(i))
		}
		require.Equal(t, want, r.Times([]int64{7}))
	})
}
