package plot

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"tautlog/calc/words"
)

// mark is one pull in a panel: where it is, and from where to where it may be.
type mark struct{ x, y, low, high float64 }

// marks draws pulls: a shape at the reading, a bar over the interval, an arrow
// where the reading is only a lower bound.
type marks struct {
	all   []mark
	style draw.GlyphStyle
	flat  bool // the interval is along x
}

// arrow is how long the arrow of a lower bound is.
const arrow = 11

// Plot draws the marks; it is plot.Plotter.
func (m marks) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	for _, k := range m.all {
		at := vg.Point{X: tx(k.x), Y: ty(k.y)}
		low, high := at, at
		if m.flat {
			low.X = tx(k.low)
			high.X = reach(at.X, k.high, tx)
		} else {
			low.Y = ty(k.low)
			high.Y = reach(at.Y, k.high, ty)
		}
		if low != high {
			c.StrokeLine2(hair(), low.X, low.Y, high.X, high.Y)
		}
		if math.IsInf(k.high, 1) {
			head(c, high, m.flat)
		}
		c.DrawGlyph(m.style, at)
	}
}

// reach is where a bar ends: at its upper end, or an arrow's length further
// where there is none.
func reach(at vg.Length, high float64, to func(float64) vg.Length) vg.Length {
	if math.IsInf(high, 1) {
		return at + arrow
	}
	return to(high)
}

// head draws the head of an arrow.
func head(c draw.Canvas, at vg.Point, flat bool) {
	const size = 3
	a, b := vg.Point{X: at.X - size, Y: at.Y - size}, vg.Point{X: at.X + size, Y: at.Y - size}
	if flat {
		b = vg.Point{X: at.X - size, Y: at.Y + size}
	}
	c.StrokeLines(hair(), []vg.Point{a, at, b})
}

// trail is a line through points, with words at one of its ends.
type trail struct {
	x, y   []float64
	style  draw.LineStyle
	words  string
	beside bool // the words stand to the left of an upright line, at its top
}

// Plot draws the line; it is plot.Plotter.
func (t trail) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	var points []vg.Point
	for i := range t.x {
		points = append(points, vg.Point{X: tx(t.x[i]), Y: ty(t.y[i])})
	}
	c.StrokeLines(t.style, points)
	if t.words == "" || len(points) == 0 {
		return
	}
	at, style := points[len(points)-1], lettering(8.5, regular, right, bottom)
	if at.Y += 3; t.beside {
		style.YAlign, at = top, vg.Point{X: at.X - 4, Y: at.Y - 6}
	}
	c.FillText(style, at, t.words)
}

// grids are faint lines at the ticks of y.
type grids struct{ x bool }

// Plot draws the lines; it is plot.Plotter.
func (g grids) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	style := draw.LineStyle{Color: faint(), Width: 0.5}
	if g.x {
		for _, t := range p.X.Tick.Marker.Ticks(p.X.Min, p.X.Max) {
			c.StrokeLine2(style, tx(t.Value), c.Min.Y, tx(t.Value), c.Max.Y)
		}
		return
	}
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		c.StrokeLine2(style, c.Min.X, ty(t.Value), c.Max.X, ty(t.Value))
	}
}

// sample is one entry of the key: a shape or a line, and what it means.
type sample struct {
	glyph *draw.GlyphStyle
	line  *draw.LineStyle
	bar   bool
	arrow bool
	flat  bool // bar and arrow lie
	words string
}

const sampleWidth = 22

func (s sample) width() vg.Length {
	return sampleWidth + lettering(8.5, regular, left, bottom).Width(s.words) + 14
}

type keyLine []sample

// keyRows puts the key into as many rows as it needs.
func (f Figure) keyRows() (rows []keyLine) {
	at := vg.Length(0)
	for _, s := range f.key {
		if len(rows) == 0 || at+s.width() > f.width-2*margin {
			rows, at = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], s)
		at += s.width()
	}
	return rows
}

func (k keyLine) draw(c draw.Canvas, at vg.Point) {
	for _, s := range k {
		middle := vg.Point{X: at.X + sampleWidth/2 - 2, Y: at.Y}
		if s.line != nil {
			c.StrokeLine2(*s.line, at.X, at.Y, at.X+sampleWidth-4, at.Y)
		}
		if s.bar || s.arrow {
			tip, tail := vg.Point{X: middle.X, Y: middle.Y + 6}, vg.Point{X: middle.X, Y: middle.Y - 5}
			if s.flat {
				tip, tail = vg.Point{X: middle.X + 6, Y: middle.Y}, vg.Point{X: middle.X - 5, Y: middle.Y}
			}
			c.StrokeLine2(hair(), tail.X, tail.Y, tip.X, tip.Y)
			if s.arrow {
				head(c, tip, s.flat)
			}
		}
		if s.glyph != nil {
			c.DrawGlyph(*s.glyph, middle)
		}
		style := lettering(8.5, regular, left, bottom)
		c.FillText(style, vg.Point{X: at.X + sampleWidth, Y: at.Y - 3}, s.words)
		at.X += s.width()
	}
}

// pullKey is the part of the key that tells how pulls are drawn.
func pullKey(bars, arrows, flat bool) (all []sample) {
	if bars {
		all = append(all, sample{bar: true, flat: flat, words: words.Say("plot.trace.interval")})
	}
	if arrows {
		all = append(all, sample{arrow: true, flat: flat, words: words.Say("plot.lower-bound")})
	}
	return all
}
