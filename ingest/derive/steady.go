package derive

import (
	"context"
	"math"
	"time"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// late is how old the latest reading may be for a cell to count as recorded.
const late = 2 * time.Second

// Steady tells how steady the latest stored readings of a cell are, those since
// a moment only. The recorder stores a reading a quarter of a second after it
// came. Now is the time; where nothing came lately, Why says so.
func Steady(ctx context.Context, db *store.Store, c Cell, now time.Time, since int64) (calibrate.Steadiness, error) {
	window := int64(calibrate.SteadySeconds * 1e9)
	var t, raw []int64
	var marks []trace.Mark
	for run, err := range db.IntactRuns(ctx, c.ID, max(since, now.Add(-late).UnixNano()-window), math.MaxInt64, nil) {
		if err != nil {
			return calibrate.Steadiness{}, err
		}
		for i, r := range run.Raw {
			t, raw, marks = append(t, run.At(i)), append(raw, r), append(marks, run.Mark(i))
		}
	}
	if len(t) == 0 || now.UnixNano()-t[len(t)-1] > late.Nanoseconds() {
		return calibrate.Steadiness{Why: words.Say("derived.steady.none", c.Name)}, nil
	}
	from, marked := 0, false
	for t[from] < t[len(t)-1]-window {
		from++
	}
	for _, m := range marks[from:] {
		marked = marked || m&(trace.Invalid|trace.Overload) != 0
	}
	return calibrate.Steady(t[from:], raw[from:], marked, c.fullScale(t[from])), nil
}

// fullScale is the capacity in readings; 0: not known.
func (c Cell) fullScale(at int64) float64 {
	if slope := math.Abs(float64(c.History.At(at).Curve.Slope(0))); slope > 0 {
		return float64(c.Capacity) / slope
	}
	return 0
}

// SlackReading is the reading of the slack line that a check under load takes
// off: that of the latest check of the slack line within a day, else of the
// zero that is in force; nil: neither is there.
func (c Cell) SlackReading(checks []store.Check, now int64) *float64 {
	for _, k := range checks {
		if k.Known == 0 && now-k.At < (24*time.Hour).Nanoseconds() {
			return &k.Reading
		}
	}
	if z := c.History.At(now).Zero; z != nil {
		return &z.Reading
	}
	return nil
}
