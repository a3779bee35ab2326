package web

import (
	"cmp"
	"context"
	"errors"
	"html/template"
	"math"
	"net/http"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// zoomView is a trace to zoom, and what its chart has to know.
type zoomView struct {
	URL       template.URL // of the outline
	Label     string
	Whole     string // what the button says that shows all of it
	Origin    int64  // of the times, ms
	From, To  float64
	Clock     bool // times are shown as those of a clock
	Marks     []markView
	Rise      *spanView // of a pull; nil where it was not seen
	Near      spanView  // what shows the rise alone
	Peak      *peakView
	Filter    string // the filter that may be laid over it; empty where the rate allows none
	PerNewton float64
	Unit      unit.ForceUnit
	Alt       string      // what is to be seen, in words
	Limits    *limitsView // handles for where the pull starts and ends; nil: none
	Parting   bool        // and one for where it may be parted
	Adding    string      // the cell of a day, of which a pull may be logged between two handles; empty: none
}

// markView is a moment with its name; times are seconds from the origin.
type markView struct {
	At   float64 `json:"at"`
	Name string  `json:"name"`
}

type spanView struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	Name string  `json:"-"`
}

// peakView is the interval of the true peak, in newtons.
type peakView struct {
	At   float64 `json:"at"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	Name string  `json:"-"`
}

// zoomOf chooses what the chart shows of a pull first: the pull with a little
// before and after it.
func zoomOf(p store.Pull, u unit.ForceUnit) zoomView {
	f := p.Found
	sec := func(t int64) float64 { return float64(t-f.Start) / 1e9 }
	long := sec(f.End)
	around := max(0.15*long, 0.25)
	v := zoomView{
		URL: template.URL("/api" + pathOf("pulls", p.ID) + "/trace"), Label: text("zoom.label"), Whole: text("zoom.wholepull"),
		Origin: f.Start / 1e6, From: -around, To: long + around, PerNewton: unit.Force(1).In(u), Unit: u,
		Marks: []markView{{0, text("mark.start")}, {sec(f.PeakAt), text("mark.peak")}, {long, text("mark.end")}},
		Peak:  &peakView{sec(f.PeakAt), float64(f.PeakLow), float64(f.PeakHigh), markTrue(f, u)},
	}
	v.Alt = text("zoom.alt", seconds(sec(f.PeakAt)), seconds(long))
	rise := max(f.RiseTime, 0.005)
	v.Near = spanView{From: sec(f.PeakAt) - 2.5*rise, To: sec(f.PeakAt) + rise}
	if f.RiseTime > 0 && f.RiseFrom != 0 {
		from := sec(f.RiseFrom) - rise/2
		v.Near = spanView{From: from, To: min(max(sec(f.PeakAt), from+2*rise)+rise/4, from+4*rise)}
		v.Rise = &spanView{sec(f.RiseFrom), sec(f.RiseFrom) + f.RiseTime, text("mark.rise", seconds(f.RiseTime))}
	}
	if f.Filter != "none" {
		v.Filter = f.Filter
	}
	return v
}

// mostFiltered is how many readings are filtered for one drawing.
const mostFiltered = 2_000_000

// traceTold is an outline, with the filtered trace beside it where it was
// asked for.
type traceTold struct {
	columns
	Filtered *columns `json:"filtered,omitempty"`
}

// apiPullTrace outlines the readings around a pull, with the zero of that
// pull taken off.
func (s *server) apiPullTrace(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	from, to, err := window(r, p.Found.Start, p.Found.End)
	if err != nil {
		return err
	}
	var told traceTold
	if told.columns, err = s.outline(r, c, from, to); err != nil {
		return err
	}
	if r.URL.Query().Get("filter") != "" {
		n, err := columnsAsked(r)
		if err != nil {
			return err
		}
		if told.Filtered, err = s.filteredColumns(r.Context(), c, p.Found, from, to, (to-from)/int64(n)); err != nil {
			return err
		}
		told.Filtered.shift(-float64(p.Found.Zero))
	}
	told.shift(-float64(p.Found.Zero))
	writeJSON(w, http.StatusOK, told)
	return nil
}

// filteredColumns runs the filter of a pull over the readings of a window, in
// columns of a width in nanoseconds. It begins so far before the window that
// how it began does not show. A gap parts the trace.
func (s *server) filteredColumns(ctx context.Context, c store.Cell, f pull.Pull, from, to, width int64) (*columns, error) {
	filter, ok := trace.NewCFC(trace.DefaultClass, f.Rate)
	if f.Filter == "none" || !ok {
		return nil, refuse(http.StatusBadRequest, text("refused.filter"))
	}
	if float64(to-from)/1e9*f.Rate > mostFiltered {
		return nil, refuse(http.StatusBadRequest, text("refused.filterwide", seconds(mostFiltered/f.Rate)))
	}
	cell, err := derive.Of(ctx, s.Store, c)
	if err != nil {
		return nil, err
	}
	around := int64(float64(filter.Settle()) / f.Rate * 1e9)
	fold := folder{width: max(width, 1), done: columns{Low: []float64{}, High: []float64{}, T: []float64{}, N: []int{}, From: from / 1e6, To: to / 1e6, Step: 1000 / f.Rate, Wide: float64(width) / 1e6}}
	var part trace.Batch
	end := func() {
		part.F = filter.Apply(f.Rate, part.F)
		fold.push(within(part, from, to))
		part.T, part.F = part.T[:0], part.F[:0]
	}
	var b trace.Batch
	for run, err := range s.Store.IntactRuns(ctx, c.ID, from-around, to+around, nil) {
		if err != nil {
			return nil, err
		}
		b = cell.Batch(b, run)
		for i, t := range b.T {
			if run.Mark(i)&trace.Invalid != 0 {
				continue
			}
			if n := len(part.T); n > 0 && float64(t-part.T[n-1])*f.Rate > 3e9 {
				end()
			}
			part.T, part.F = append(part.T, t), append(part.F, b.F[i])
		}
	}
	end()
	if fold.n > 0 {
		fold.close()
	}
	return &fold.done, nil
}

// within is the part of a batch from one time up to, not including, another.
func within(b trace.Batch, from, to int64) trace.Batch {
	i, j := 0, len(b.T)
	for i < j && b.T[i] < from {
		i++
	}
	for j > i && b.T[j-1] >= to {
		j--
	}
	return b.Slice(i, j)
}

// dayTraceView is the whole day of a cell.
type dayTraceView struct {
	Date, Told string
	Cell       string
	Cells      []string // that read anything on that day
	Zoom       zoomView
	Add        addView
	Token      string
}

// cautioned: the cautions stand above the trace.
func (dayTraceView) cautioned() {}

// dayTrace shows all that a cell read on a date.
func (s *server) dayTrace(w http.ResponseWriter, r *http.Request) error {
	return s.showDayTrace(w, r, newSheet(nil), nil)
}

// showDayTrace shows it with the form that logs a pull, and what that would be.
func (s *server) showDayTrace(w http.ResponseWriter, r *http.Request, f *sheet, tried *partsView) error {
	date := r.PathValue("date")
	at, err := s.dateAsked(r)
	if err != nil {
		return err
	}
	from, to := bounds(at)
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	v := dayTraceView{Date: date, Told: words.Weekday(at), Cell: cmp.Or(f.q.Get("cell"), r.URL.Query().Get("cell")), Token: s.tokenIn(r.Context())}
	v.Add = addView{Open: f.q != nil, Wrong: !f.good(), Fields: f.set(addEntries()...), Tried: tried}
	var shown *store.Cell
	for _, c := range cells {
		n, _, err := s.Store.Count(r.Context(), c.ID, from, to)
		if err != nil {
			return err
		}
		if n == 0 {
			continue
		}
		v.Cells = append(v.Cells, c.Name)
		if shown == nil && (v.Cell == "" || v.Cell == c.Name) {
			shown = &c
		}
	}
	if shown == nil {
		return refuse(http.StatusNotFound, text("refused.noreadings", date))
	}
	v.Cell = shown.Name
	if v.Zoom, err = s.zoomOfDay(r, *shown, from, to); err != nil {
		return err
	}
	v.Zoom.Adding = shown.Name
	v.Zoom.Limits = s.handlesOfDay(at, date, *shown)
	return s.showAs(w, r, formStatus(f, false), "daytrace", text("daytrace.title", v.Told), v)
}

// handlesOfDay is what the handles of a day's trace have to know.
func (s *server) handlesOfDay(at time.Time, date string, c store.Cell) *limitsView {
	v := &limitsView{Try: template.URL("/days/" + date + "/added?cell=" + urlEscape(c.Name)), Midnight: at.UnixMilli(), Step: 0.001, Digits: 3}
	if c.Rate > 0 {
		v.Step = 1 / c.Rate
	}
	return v
}

// zoomOfDay is the chart of a stretch of a cell from its first to its last
// reading there, with its pulls as marks.
func (s *server) zoomOfDay(r *http.Request, c store.Cell, from, to int64) (zoomView, error) {
	u := chosen(r).Unit
	whole, err := s.Store.Outline(r.Context(), c.ID, from, to, 1)
	if err != nil || len(whole) == 0 {
		return zoomView{}, errors.Join(err, store.ErrNotFound)
	}
	first, last := whole[0].From, whole[0].To
	sec := func(t int64) float64 { return float64(t-first) / 1e9 }
	v := zoomView{
		URL: template.URL("/api/trace?cell=" + urlEscape(c.Name)), Label: text("daytrace.label"), Whole: text("zoom.wholeday"),
		Origin: first / 1e6, From: 0, To: math.Max(sec(last), 1), Clock: true, PerNewton: unit.Force(1).In(u), Unit: u,
	}
	pulls, err := s.Store.Pulls(r.Context(), store.PullFilter{Cell: c.ID, From: from, To: to})
	for _, p := range pulls {
		v.Marks = append(v.Marks, markView{sec(p.Found.PeakAt), text("pull.title", p.ID)})
	}
	v.Alt = count("daytrace.alt", len(pulls), s.timeOfDay(first), s.timeOfDay(last))
	return v, err
}

// markTrue names the interval of the true peak in the chart, with the digits
// that it has above the chart.
func markTrue(f pull.Pull, u unit.ForceUnit) string {
	_, interval := unit.IntervalParts(text("peak.what"), f.Peak, f.PeakLow, f.PeakHigh, unit.IntervalPlace(f.Peak, f.PeakLow, f.PeakHigh, u), u)
	return interval
}
