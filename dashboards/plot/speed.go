package plot

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

const kmh = 3.6

// Speed draws shock factors against speed, a panel for each ground.
func Speed(c shock.SpeedChart) Figure {
	high, fastest, bars, arrows, curves := 0.0, 0.0, false, false, false
	for _, g := range c.Grounds {
		for _, p := range g.Points {
			fastest = math.Max(fastest, float64(p.Pull.Speed)*kmh)
			high = math.Max(high, p.Factor)
			if p.Open() {
				arrows = true
			} else {
				high, bars = math.Max(high, p.High), bars || !p.Exact()
			}
		}
		for _, k := range g.Curve {
			curves = true
			high = math.Max(high, k.Expected)
			if k.Upper != nil {
				high = math.Max(high, *k.Upper)
			}
		}
	}
	var panels []*plot.Plot
	for i, g := range c.Grounds {
		p := groundPanel(g, i)
		p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, fastest*1.05, 0, high*1.12
		p.X.Tick.Marker, p.Y.Tick.Marker = steps(0, p.X.Max, 6), steps(0, p.Y.Max, 6)
		panels = append(panels, p)
	}
	f := Figure{Title: "Shock factor against speed: " + shock.StrapName(c.Pull.Class.Strap), Caption: speedCaption(c, curves), key: pullKey(bars, arrows, false)}
	if curves {
		s, d := solid(), dashed()
		f.key = append(f.key, sample{line: &s, words: "expected by the speed fit"}, sample{line: &d, words: "bound: 95 in 100 such pulls stay below it, with 95 % confidence"})
	}
	f.panels = grid(panels)
	f.width, f.height = 90+220*vg.Length(len(f.panels[0])), 110+210*vg.Length(len(f.panels))
	f.width = max(f.width, 480)
	return f
}

// groundPanel draws the pulls and curves of one ground.
func groundPanel(g shock.GroundChart, i int) *plot.Plot {
	p := panel(fmt.Sprintf("%s (%s)", shock.GroundName(g.Ground), countPulls(len(g.Points))), "speed, km/h", "shock factor, peak ÷ weight")
	p.Add(grids{})
	expected, upper := trail{style: solid()}, trail{style: dashed(), words: "bound"}
	for _, k := range g.Curve {
		expected.x, expected.y = append(expected.x, float64(k.Speed)*kmh), append(expected.y, k.Expected)
		if k.Upper != nil {
			upper.x, upper.y = append(upper.x, float64(k.Speed)*kmh), append(upper.y, *k.Upper)
		}
	}
	m := marks{style: marker(i)}
	for _, k := range g.Points {
		m.all = append(m.all, mark{float64(k.Pull.Speed) * kmh, k.Factor, k.Low, k.High})
	}
	p.Add(upper, expected, m)
	return p
}

func speedCaption(c shock.SpeedChart, curves bool) string {
	text := "Each mark is one logged pull with this strap, whatever the vehicles."
	if curves {
		text += fmt.Sprintf(" Lines: %s pulled by %s", c.Pull.Reference, c.Pull.Puller)
		if c.Pull.StrapLength > 0 {
			text += fmt.Sprintf(", strap of %s and %s breaking strength", c.Pull.StrapLength, c.Pull.StrapMBS.Show(unit.Kilonewton, 0))
		}
		return text + "; drawn only over the speeds that were logged on that ground. Measured and fitted: no permission to pull."
	}
	return text + " Too little is known for the lines of a speed fit."
}

func countPulls(n int) string {
	if n == 1 {
		return "1 pull"
	}
	return fmt.Sprintf("%d pulls", n)
}
