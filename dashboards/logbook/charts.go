package logbook

import (
	"sync"

	"tautlog/analysis/shock"
)

// mostMarks is about how many pulls a chart holds: more cannot be told apart.
const mostMarks = 2000

// Drawn is a chart with how many of the pulls it is of are among its marks; see
// shock.Thin.
type Drawn[T any] struct {
	Chart     T
	Marks, Of int
}

// drawings are the charts of one fit, each made once.
type drawings struct {
	mu   sync.Mutex
	made map[string]any
}

// draw gives a chart, and makes it where it was not made yet.
func draw[T any](t Told, name string, do func(*shock.Fitted) (T, error), fewer func(*Drawn[T])) (Drawn[T], error) {
	t.drawings.mu.Lock()
	defer t.drawings.mu.Unlock()
	if have, ok := t.drawings.made[name]; ok {
		return have.(Drawn[T]), nil
	}
	c, err := do(t.Fitted)
	if err != nil {
		return Drawn[T]{}, err
	}
	d := Drawn[T]{Chart: c}
	fewer(&d)
	t.drawings.made[name] = d
	return d, nil
}

// thin leaves of the points of each group as many as can be told apart in one
// chart. points gives those of the i-th group, to be changed.
func thin[T, P any](d *Drawn[T], groups int, points func(i int) *[]P, drawn func(P) float64) {
	for i := range groups {
		d.Of += len(*points(i))
	}
	if d.Marks = d.Of; d.Of <= mostMarks {
		return
	}
	d.Marks = 0
	for i := range groups {
		p := points(i)
		*p = shock.Thin(*p, mostMarks/groups, drawn)
		d.Marks += len(*p)
	}
}

func factor(p shock.Point) float64 { return p.Factor }

// SpeedChart draws factors against speed for a strap, or for that of most
// pulls. Something must be Fitted.
func (t Told) SpeedChart(strap string) (Drawn[shock.SpeedChart], error) {
	return draw(t, "speed "+strap, func(f *shock.Fitted) (shock.SpeedChart, error) {
		return f.ChartSpeed(shock.Pull{Class: shock.Class{Strap: strap}})
	}, func(d *Drawn[shock.SpeedChart]) {
		thin(d, len(d.Chart.Grounds), func(i int) *[]shock.Point { return &d.Chart.Grounds[i].Points }, factor)
	})
}

// ResidualChart draws what the fit by speed leaves. Something must be Fitted.
func (t Told) ResidualChart() (Drawn[shock.ResidualChart], error) {
	return draw(t, "residuals", (*shock.Fitted).ChartResiduals, func(d *Drawn[shock.ResidualChart]) {
		thin(d, len(d.Chart.Grounds), func(i int) *[]shock.Residual { return &d.Chart.Grounds[i].Residuals }, func(r shock.Residual) float64 { return r.Log })
	})
}

// ClassChart draws the classes. Something must be Fitted.
func (t Told) ClassChart() (Drawn[shock.ClassChart], error) {
	return draw(t, "classes", func(f *shock.Fitted) (shock.ClassChart, error) { return f.ChartClasses(0) }, func(d *Drawn[shock.ClassChart]) {
		thin(d, len(d.Chart.Classes), func(i int) *[]shock.Point { return &d.Chart.Classes[i].Points }, factor)
	})
}

// drawAll makes every chart, so that nobody waits for it. What cannot be drawn
// is said to whoever asks.
func (t Told) drawAll() {
	if t.Fitted == nil {
		return
	}
	_, _ = t.ClassChart()
	_, _ = t.ResidualChart()
	_, _ = t.SpeedChart("")
	if t.Fitted.Speed != nil {
		for _, s := range t.Fitted.Speed.Straps {
			_, _ = t.SpeedChart(s.Name)
		}
	}
}
