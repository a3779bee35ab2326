package web

import (
	"errors"
	"math"
	"net/http"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// pointJSON is a logged pull in a chart. High is null where the reading is
// only a lower bound.
type pointJSON struct {
	Name   string   `json:"name"`
	Link   string   `json:"link,omitempty"`
	Day    string   `json:"day"`
	Speed  *float64 `json:"speed_kmh"`
	Factor float64  `json:"factor"`
	Low    float64  `json:"low"`
	High   *float64 `json:"high"`
}

func pointOf(p shock.Point) pointJSON {
	out := pointJSON{Name: p.Pull.Name(), Link: pullLink(p.Pull.ID), Day: p.Pull.Day, Factor: p.Factor, Low: p.Low, High: finite(p.High)}
	if p.Pull.Speed > 0 {
		v := kmh(p.Pull.Speed)
		out.Speed = &v
	}
	return out
}

func kmh(v unit.Speed) float64 { return float64(v) * 3.6 }

// finite is null for what has no end.
func finite(v float64) *float64 {
	if math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// chartPulls are the pulls that a chart of a set shows: those behind it, or
// the log where it was assumed.
func (s *server) chartPulls(r *http.Request) ([]shock.Pull, shock.Kept, error) {
	k, err := s.setAsked(r)
	if err != nil || len(k.Pulls) > 0 {
		return k.Pulls, k, err
	}
	log, err := s.logged(r.Context())
	return log, k, err
}

// nothingToDraw turns an error of a chart into an answer.
func nothingToDraw(err error) error {
	if errors.Is(err, shock.ErrChart) {
		return refuse(http.StatusNotFound, sentence(err.Error()))
	}
	return err
}

// apiSpeedChart is factors against speed, by ground, for one strap.
func (s *server) apiSpeedChart(w http.ResponseWriter, r *http.Request) error {
	pulls, _, err := s.chartPulls(r)
	if err != nil {
		return err
	}
	c, err := shock.ChartSpeed(pulls, shock.Pull{Class: shock.Class{Strap: r.URL.Query().Get("strap")}})
	if err != nil {
		return nothingToDraw(err)
	}
	type curveJSON struct {
		Speed    float64  `json:"speed_kmh"`
		Expected float64  `json:"expected"`
		Upper    *float64 `json:"upper_95_95"`
	}
	type groundJSON struct {
		Ground string      `json:"ground"`
		Points []pointJSON `json:"points"`
		Curve  []curveJSON `json:"curve"`
	}
	grounds := []groundJSON{}
	for _, g := range c.Grounds {
		one := groundJSON{named(g.Ground, "ground"), []pointJSON{}, []curveJSON{}}
		for _, p := range g.Points {
			one.Points = append(one.Points, pointOf(p))
		}
		for _, p := range g.Curve {
			one.Curve = append(one.Curve, curveJSON{kmh(p.Speed), p.Expected, p.Upper})
		}
		grounds = append(grounds, one)
	}
	writeJSON(w, http.StatusOK, map[string]any{
		"strap": named(c.Pull.Class.Strap, "strap"), "grounds": grounds,
		"says": text("chart.speed", named(c.Pull.Class.Strap, "strap"), c.Pull.Puller, c.Pull.Reference),
	})
	return nil
}

// apiResiduals is logged peaks over what the speed fit expects of them.
func (s *server) apiResiduals(w http.ResponseWriter, r *http.Request) error {
	pulls, _, err := s.chartPulls(r)
	if err != nil {
		return err
	}
	c, err := shock.ChartResiduals(pulls)
	if err != nil {
		return nothingToDraw(err)
	}
	type groundJSON struct {
		Ground string      `json:"ground"`
		Points []pointJSON `json:"points"` // factor is the peak over the expected one
	}
	grounds := []groundJSON{}
	for _, g := range c.Grounds {
		one := groundJSON{named(g.Ground, "ground"), []pointJSON{}}
		for _, x := range g.Residuals {
			one.Points = append(one.Points, pointOf(shock.Point{Pull: x.Pull, Factor: math.Exp(x.Log), Low: math.Exp(x.Low), High: math.Exp(x.High)}))
		}
		grounds = append(grounds, one)
	}
	writeJSON(w, http.StatusOK, map[string]any{"grounds": grounds, "spread": c.Spread, "says": text("chart.residuals", 100*math.Expm1(c.Spread))})
	return nil
}

// apiClassChart is the multipliers of classes beside what is assumed.
func (s *server) apiClassChart(w http.ResponseWriter, r *http.Request) error {
	pulls, k, err := s.chartPulls(r)
	if err != nil {
		return err
	}
	c, err := shock.ChartClasses(pulls, 0)
	if err != nil {
		return nothingToDraw(err)
	}
	sets, err := s.Store.Sets(r.Context())
	if err != nil {
		return err
	}
	if k.Fit != nil {
		k = assumption(sets)
	}
	type classJSON struct {
		Class   string      `json:"class"`
		Median  float64     `json:"median"`
		Upper   *float64    `json:"upper_95_95"`
		Assumed *float64    `json:"assumed"`
		Points  []pointJSON `json:"points"`
	}
	classes := []classJSON{}
	for _, x := range c.Classes {
		one := classJSON{Class: x.Fit.Class.String(), Median: x.Fit.Median, Upper: x.Fit.Upper, Points: []pointJSON{}}
		if p, ok := k.Multiplier(x.Fit.Class); ok {
			one.Assumed = &p.Upper
		}
		for _, p := range x.Points {
			one.Points = append(one.Points, pointOf(p))
		}
		classes = append(classes, one)
	}
	writeJSON(w, http.StatusOK, map[string]any{"classes": classes, "says": text("chart.classes", k.Label())})
	return nil
}
