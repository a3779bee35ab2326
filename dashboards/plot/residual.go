package plot

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot"

	"tautlog/analysis/shock"
	"tautlog/calc/words"
)

// Residuals draws logged peaks over what the speed fit expects of them, against
// speed and by day.
func Residuals(c shock.ResidualChart) Figure {
	ratio := words.Say("plot.ratio")
	bySpeed, byDay := panel(words.Say("plot.against-speed"), words.Say("plot.speed"), ratio), panel(words.Say("plot.by-day"), words.Say("plot.day"), "")
	low, high, fastest, bars, arrows := -2.2*c.Spread, 2.2*c.Spread, 0.0, false, false
	var speeds, days []plot.Plotter
	f := Figure{Title: words.Say("plot.residuals.title"), Caption: residualCaption(c)}
	for i, g := range c.Grounds {
		s, d := marks{style: marker(i)}, marks{style: marker(i)}
		for _, r := range g.Residuals {
			s.all = append(s.all, mark{float64(r.Pull.Speed) * kmh, r.Log, r.Low, r.High})
			d.all = append(d.all, mark{float64(slices.Index(c.Days, r.Pull.Day)) + aside(i, len(c.Grounds)), r.Log, r.Low, r.High})
			fastest, low, high = math.Max(fastest, float64(r.Pull.Speed)*kmh), math.Min(low, r.Low), math.Max(high, r.Log)
			if math.IsInf(r.High, 1) {
				arrows = true
			} else {
				high, bars = math.Max(high, r.High), bars || r.Low != r.High
			}
		}
		speeds, days = append(speeds, s), append(days, d)
		style := s.style
		f.key = append(f.key, sample{glyph: &style, words: shock.GroundName(g.Ground)})
	}
	f.key = append(f.key, pullKey(bars, arrows, false)...)
	bySpeed.X.Min = 0
	bySpeed.X.Max, byDay.X.Max, byDay.X.Min = fastest*1.05, float64(len(c.Days))-0.5, -0.5
	bySpeed.X.Tick.Marker, byDay.X.Tick.Marker = steps(0, bySpeed.X.Max, 6), dayTicks(c.Days)
	for _, p := range []*plot.Plot{bySpeed, byDay} {
		p.Y.Min, p.Y.Max = low-0.05, high+0.08
		p.Y.Tick.Marker = ratios(p.Y.Min, p.Y.Max)
		p.Add(grids{})
		for _, side := range []float64{-1, 1} {
			y := side * 1.959964 * c.Spread
			t := trail{x: []float64{p.X.Min, p.X.Max}, y: []float64{y, y}, style: dashed()}
			if side > 0 && p == bySpeed {
				t.words = words.Say("plot.speed.within")
			}
			p.Add(t)
		}
		p.Add(trail{x: []float64{p.X.Min, p.X.Max}, y: []float64{0, 0}, style: hair()})
	}
	bySpeed.Add(speeds...)
	byDay.Add(days...)
	f.panels = [][]*plot.Plot{{bySpeed, byDay}}
	f.width, f.height = 640, 330
	return f
}

// aside is how far from the middle of a day the i-th of n grounds stands.
func aside(i, n int) float64 { return (float64(i) - float64(n-1)/2) * 0.5 / float64(max(n, 2)) }

// ratios are ticks of a logarithm, named as ratios.
func ratios(low, high float64) (all plot.ConstantTicks) {
	steps := []float64{0.1, 0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 3, 5, 10}
	if high-low < math.Log(4) {
		steps = []float64{0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.3, 1.4, 1.6, 1.8, 2, 2.5, 3, 4}
	}
	for _, r := range steps {
		if y := math.Log(r); y >= low && y <= high {
			all = append(all, plot.Tick{Value: y, Label: strconv.FormatFloat(r, 'g', -1, 64)})
		}
	}
	return all
}

// dayTicks numbers days, since their names would not fit beside each other.
func dayTicks(days []string) (all plot.ConstantTicks) {
	every := (len(days) + 11) / 12
	for i := range days {
		if i%every == 0 {
			all = append(all, plot.Tick{Value: float64(i), Label: strconv.Itoa(i + 1)})
		}
	}
	return all
}

func residualCaption(c shock.ResidualChart) string {
	n := 0
	for _, g := range c.Grounds {
		n += len(g.Residuals)
	}
	said := []string{words.Count("plot.residuals", n)}
	if len(c.Days) > 0 {
		said = append(said, words.Say("plot.days", c.Days[0], len(c.Days), c.Days[len(c.Days)-1]))
	}
	return strings.Join(append(said, words.Say("plot.slope")), " ")
}
