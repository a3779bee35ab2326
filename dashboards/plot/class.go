package plot

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"tautlog/analysis/shock"
	"tautlog/calc/words"
)

// Classes draws each class with its pulls, its median, its bound and the
// assumed multiplier, a row for each.
func Classes(c shock.ClassChart) Figure {
	p := panel("", words.Say("plot.multiplier"), "")
	n := len(c.Classes)
	p.X.Min, p.X.Max = 0, 1.0
	p.Y.Min, p.Y.Max = -0.6, float64(n)-0.4
	grounds := groundsOf(c)
	names := plot.ConstantTicks{}
	bars, arrows := false, false
	var drawn []plot.Plotter
	for i, k := range c.Classes {
		row := float64(n - 1 - i)
		names = append(names, plot.Tick{Value: row, Label: k.Fit.Class.String()})
		m := marks{style: marker(slices.Index(grounds, k.Fit.Class.Ground)), flat: true}
		for j, q := range k.Points {
			m.all = append(m.all, mark{q.Factor, row - 0.12 - 0.2*spread(j), q.Low, q.High})
			p.X.Max = math.Max(p.X.Max, q.Factor*1.06)
			if q.Open() {
				arrows = true
			} else {
				p.X.Max, bars = math.Max(p.X.Max, q.High*1.03), bars || !q.Exact()
			}
		}
		drawn = append(drawn, m, trail{x: []float64{k.Fit.Median, k.Fit.Median}, y: []float64{row - 0.38, row + 0.3}, style: solid()})
		if u := k.Fit.Upper; u != nil {
			p.X.Max = math.Max(p.X.Max, *u*1.08)
			drawn = append(drawn, trail{x: []float64{*u, *u}, y: []float64{row - 0.38, row + 0.2}, style: dashed(), words: words.Say("plot.bound", *u)})
		}
	}
	if c.Assumed > 0 {
		p.X.Max = math.Max(p.X.Max, c.Assumed*1.12)
		drawn = append(drawn, trail{x: []float64{c.Assumed, c.Assumed}, y: []float64{p.Y.Min, p.Y.Max}, style: dotted(), words: words.Say("plot.assumed", c.Assumed), beside: true})
	}
	p.X.Tick.Marker, p.Y.Tick.Marker = steps(0, p.X.Max, 8), names
	p.Add(grids{x: true})
	p.Add(drawn...)
	return Figure{
		Title: words.Say("plot.multipliers-by-class"), Caption: classCaption(c), panels: [][]*plot.Plot{{p}},
		key: classKey(c, grounds, bars, arrows), width: 640, height: 130 + 52*vg.Length(n),
	}
}

func groundsOf(c shock.ClassChart) (all []string) {
	for _, k := range c.Classes {
		if !slices.Contains(all, k.Fit.Class.Ground) {
			all = append(all, k.Fit.Class.Ground)
		}
	}
	return all
}

// spread keeps pulls of a row apart, the same way each time: the fractional
// parts of multiples of the golden ratio.
func spread(j int) float64 {
	_, f := math.Modf(float64(j) * math.Phi)
	return f
}

func classKey(c shock.ClassChart, grounds []string, bars, arrows bool) (key []sample) {
	for i, g := range grounds {
		style := marker(i)
		key = append(key, sample{glyph: &style, words: words.Say("plot.pull", shock.GroundName(g))})
	}
	s, d, a := solid(), dashed(), dotted()
	key = append(key, pullKey(bars, arrows, true)...)
	key = append(key, sample{line: &s, words: words.Say("plot.median")}, sample{line: &d, words: words.Say("plot.bound.key")})
	if c.Assumed > 0 {
		key = append(key, sample{line: &a, words: words.Say("plot.assumed.key", c.Assumed)})
	}
	return key
}

func classCaption(c shock.ClassChart) string {
	said := []string{words.Say("plot.each")}
	without, pooled := 0, 0
	for _, k := range c.Classes {
		if k.Fit.Upper == nil {
			without++
		} else if k.Fit.Pooled {
			pooled++
		}
	}
	if pooled > 0 {
		said = append(said, words.Say("plot.pooled", pooled, len(c.Classes), shock.FewestAlone))
	}
	if without > 0 {
		said = append(said, words.Say("plot.without", without, len(c.Classes)))
	}
	return strings.Join(append(said, words.Say("plot.measured")), " ")
}
