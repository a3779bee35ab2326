package plot

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/calc/words"
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
	f := Figure{Title: words.Say("plot.against.speed", shock.StrapName(c.Pull.Class.Strap)), Caption: speedCaption(c, curves), key: pullKey(bars, arrows, false)}
	if curves {
		s, d := solid(), dashed()
		f.key = append(f.key, sample{line: &s, words: words.Say("plot.speed.expected")}, sample{line: &d, words: words.Say("plot.bound.key")})
	}
	f.panels = grid(panels)
	f.width, f.height = 90+220*vg.Length(len(f.panels[0])), 110+210*vg.Length(len(f.panels))
	f.width = max(f.width, 480)
	return f
}

// groundPanel draws the pulls and curves of one ground.
func groundPanel(g shock.GroundChart, i int) *plot.Plot {
	p := panel(words.Say("plot.ground", shock.GroundName(g.Ground), words.Count("shock.pulls", len(g.Points))), words.Say("plot.speed"), words.Say("plot.factor"))
	p.Add(grids{})
	expected, upper := trail{style: solid()}, trail{style: dashed(), words: words.Say("plot.bound.short")}
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
	said := words.Say("plot.each.strap") + " "
	if !curves {
		return said + words.Say("plot.little")
	}
	lines := words.Say("plot.lines", c.Pull.Reference, c.Pull.Puller)
	if c.Pull.StrapLength > 0 {
		lines = words.Say("plot.lines.strap", c.Pull.Reference, c.Pull.Puller, c.Pull.StrapLength, c.Pull.StrapMBS.Show(unit.Kilonewton, 0))
	}
	return said + lines + " " + words.Say("plot.measured")
}
