package web

import (
	"math"
	"slices"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/store"
)

// columns is a trace as charts take it: see the package comment.
type columns struct {
	From int64     `json:"from"`
	To   int64     `json:"to"`
	Step float64   `json:"step"`
	Wide float64   `json:"wide,omitempty"` // how much time a column takes in, in milliseconds
	T    []float64 `json:"t"`
	Low  []float64 `json:"low"`
	High []float64 `json:"high"`
	N    []int     `json:"n"`
}

func (c *columns) add(t int64, low, high float64, n int) {
	c.T = append(c.T, float64(t)/1e6)
	c.Low = append(c.Low, round(low))
	c.High = append(c.High, round(high))
	c.N = append(c.N, n)
}

// round keeps tenths of a newton: no screen shows less, and it halves what is
// sent.
func round(f float64) float64 { return math.Round(f*10) / 10 }

// shift moves every force by d newtons.
func (c *columns) shift(d float64) {
	for i := range c.Low {
		c.Low[i], c.High[i] = round(c.Low[i]+d), round(c.High[i]+d)
	}
}

// outlined turns what the store outlines into forces, by what was in force for
// the cell.
func outlined(cols []store.Column, h *calibrate.History, from, to int64, rate float64) columns {
	out := columns{From: from / 1e6, To: to / 1e6, Step: stepOf(cols, rate), T: []float64{}, Low: []float64{}, High: []float64{}, N: []int{}}
	for _, c := range cols {
		curve := h.At(c.From).Curve
		a, b := float64(curve.Force(float64(c.Min))), float64(curve.Force(float64(c.Max)))
		out.add(c.From/2+c.To/2, min(a, b), max(a, b), c.N)
	}
	return out
}

// stepOf is the usual time between readings in milliseconds: as the cell was
// said to send, or as it did. Where single readings are seen, a cell that sends
// more slowly than it was set up for is believed: otherwise every reading would
// stand alone between two gaps, and no line would be drawn.
func stepOf(cols []store.Column, rate float64) float64 {
	if rate > 0 {
		return max(1000/rate, usualStep(cols))
	}
	n, span := 0, int64(0)
	for _, c := range cols {
		n += c.N - 1
		span += c.To - c.From
	}
	if n > 0 {
		return float64(span) / float64(n) / 1e6
	}
	if len(cols) > 1 {
		return float64(cols[len(cols)-1].From-cols[0].From) / float64(len(cols)-1) / 1e6
	}
	return 0
}

// fewSteps are too few to tell the usual step from gaps.
const fewSteps = 8

// usualStep is the median time between neighbours in milliseconds where every
// column is a single reading; 0 where some hold more, which are wider than it,
// and where there are few.
func usualStep(cols []store.Column) float64 {
	var steps []int64
	for i, c := range cols {
		if c.N > 1 {
			return 0
		}
		if i > 0 {
			steps = append(steps, c.From-cols[i-1].To)
		}
	}
	if len(steps) < fewSteps {
		return 0
	}
	slices.Sort(steps)
	return float64(steps[len(steps)/2]) / 1e6
}

// folder folds readings into columns of a fixed width of time.
type folder struct {
	width     int64
	done      columns
	from      int64 // of the open column
	first     int64 // time of its first reading
	low, high float64
	n         int
	last      int64 // time of the latest reading
	step      float64
}

func newFolder(width int64) *folder { return &folder{width: width} }

func (f *folder) push(b trace.Batch) {
	for i, t := range b.T {
		if f.n > 0 && t-f.from >= f.width {
			f.close()
		}
		f.pace(t)
		if f.n == 0 {
			f.from, f.first, f.low, f.high = t-t%f.width, t, b.F[i], b.F[i]
		}
		f.low, f.high = min(f.low, b.F[i]), max(f.high, b.F[i])
		f.n++
	}
}

// pace follows the time between readings; it forgets a gap soon.
func (f *folder) pace(t int64) {
	if d := float64(t-f.last) / 1e6; f.last != 0 && d > 0 && d < 2000 {
		if f.step == 0 {
			f.step = d
		}
		f.step += (d - f.step) / 16
	}
	f.last = t
}

func (f *folder) close() {
	f.done.add(f.first+(f.last-f.first)/2, f.low, f.high, f.n)
	f.n = 0
}

// take gives what is complete since the last call. A slow cell's column is
// complete with its one reading.
func (f *folder) take() columns {
	if f.n > 0 && f.step*1e6 >= float64(f.width) {
		f.close()
	}
	out := f.done
	out.Step = max(f.step, 2*float64(f.width)/1e6) // a column that is late is no gap yet
	f.done = columns{}
	return out
}
