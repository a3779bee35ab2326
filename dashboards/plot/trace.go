package plot

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Course is the force of one pull over time, as it is to be drawn. Times are
// seconds from the start of the pull.
type Course struct {
	Title, Caption string
	// Parts are stretches without a gap, each in the order of time. Between
	// two of them nothing was read, and nothing is drawn.
	Parts [][]Extent
	// PeakAt and End are when the largest reading was and when the line was
	// slack again.
	PeakAt, End float64
	// Peak is the peak, Low and High the ends of its interval; both 0 where
	// none is known, and High infinite where the peak is only a lower bound.
	Peak, Low, High unit.Force
	// Unit is the unit of the axis.
	Unit unit.ForceUnit
}

// Extent is the smallest and the largest force near a moment; the same twice
// for a single reading.
type Extent struct {
	At        float64
	Low, High unit.Force
}

// Trace draws the course of a pull with its start, peak and end marked, and the
// interval of the peak as a bar.
func Trace(c Course) Figure {
	p := panel("", words.Say("plot.trace.seconds"), words.Say("plot.force", c.Unit))
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = c.bounds()
	p.X.Tick.Marker, p.Y.Tick.Marker = steps(p.X.Min, p.X.Max, 8), steps(p.Y.Min, p.Y.Max, 6)
	p.Add(grids{})
	for _, m := range []struct {
		at    float64
		words string
	}{{0, words.Say("plot.start")}, {c.PeakAt, words.Say("plot.peak")}, {c.End, words.Say("plot.end")}} {
		p.Add(trail{x: []float64{m.at, m.at}, y: []float64{p.Y.Min, p.Y.Max}, style: dotted(), words: m.words, beside: true})
	}
	for _, part := range c.Parts {
		p.Add(c.line(part))
	}
	peak := mark{x: c.PeakAt, y: c.Peak.In(c.Unit), low: c.Low.In(c.Unit), high: c.High.In(c.Unit)}
	if c.Low == 0 && c.High == 0 {
		peak.low, peak.high = peak.y, peak.y
	}
	style := marker(0)
	p.Add(marks{all: []mark{peak}, style: style})
	f := Figure{Title: c.Title, Caption: c.Caption, panels: [][]*plot.Plot{{p}}, width: 640, height: 300}
	line := solid()
	open := math.IsInf(peak.high, 1)
	f.key = append(f.key, sample{line: &line, words: words.Say("plot.trace.read")}, sample{glyph: &style, words: words.Say("plot.peak")})
	f.key = append(f.key, pullKey(!open && peak.low != peak.high, open, false)...)
	return f
}

// line joins the extremes of a part.
func (c Course) line(part []Extent) trail {
	t := trail{style: solid()}
	t.style.Width = vg.Length(0.9)
	for _, e := range part {
		t.x, t.y = append(t.x, e.At), append(t.y, e.Low.In(c.Unit))
		if e.High != e.Low {
			t.x, t.y = append(t.x, e.At), append(t.y, e.High.In(c.Unit))
		}
	}
	return t
}

// bounds are what the panel has to hold.
func (c Course) bounds() (x0, x1, y0, y1 float64) {
	x1, y1 = math.Max(c.End, 1e-3), c.Peak.In(c.Unit)
	if h := c.High.In(c.Unit); !math.IsInf(h, 1) {
		y1 = math.Max(y1, h)
	}
	for _, part := range c.Parts {
		for _, e := range part {
			x0, x1 = math.Min(x0, e.At), math.Max(x1, e.At)
			y0, y1 = math.Min(y0, e.Low.In(c.Unit)), math.Max(y1, e.High.In(c.Unit))
		}
	}
	return x0, x1, y0, y1 + 0.3*(y1-y0) // room for the words above the trace
}
