package web

import (
	"errors"
	"math"
	"net/http"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/logbook"
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

// chartTold is what a chart of a set shows: what was fitted of the pulls behind
// it, or of the log where it was assumed. from says how much of that is drawn.
func (s *server) chartTold(r *http.Request) (t logbook.Told, kept shock.Kept, err error) {
	if t, err = s.told(r); err != nil {
		return t, kept, err
	}
	if kept = t.Kept; t.Fitted == nil && !t.Behind { // of a choice there is always one of the two
		if t, err = s.book.OfLog(r.Context()); err != nil {
			return t, kept, err
		}
	}
	if t.Fitted == nil {
		err = notYet(t)
	}
	return t, kept, err
}

// marks are the marks of a chart.
func marks(points []shock.Point) []pointJSON {
	out := make([]pointJSON, len(points))
	for i, p := range points {
		out[i] = pointOf(p)
	}
	return out
}

// chartSays adds to what a chart says how many of the pulls it draws, and
// whether they are those of now.
func chartSays(says string, drawn, of int, t logbook.Told) string {
	if drawn < of {
		says += " " + count("chart.thinned", drawn, of)
	}
	if t.Behind {
		says += " " + count("multipliers.behind", t.Pulls)
	}
	return says
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
	t, _, err := s.chartTold(r)
	if err != nil {
		return err
	}
	d, err := t.SpeedChart(r.URL.Query().Get("strap"))
	if err != nil {
		return nothingToDraw(err)
	}
	c := d.Chart
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
		one := groundJSON{shock.GroundName(g.Ground), marks(g.Points), []curveJSON{}}
		for _, p := range g.Curve {
			one.Curve = append(one.Curve, curveJSON{kmh(p.Speed), p.Expected, p.Upper})
		}
		grounds = append(grounds, one)
	}
	writeJSON(w, http.StatusOK, map[string]any{
		"strap": shock.StrapName(c.Pull.Class.Strap), "grounds": grounds,
		"says": chartSays(text("chart.speed", shock.StrapName(c.Pull.Class.Strap), c.Pull.Puller, c.Pull.Reference), d.Marks, d.Of, t),
	})
	return nil
}

// apiResiduals is logged peaks over what the speed fit expects of them.
func (s *server) apiResiduals(w http.ResponseWriter, r *http.Request) error {
	t, _, err := s.chartTold(r)
	if err != nil {
		return err
	}
	d, err := t.ResidualChart()
	if err != nil {
		return nothingToDraw(err)
	}
	c := d.Chart
	type groundJSON struct {
		Ground string      `json:"ground"`
		Points []pointJSON `json:"points"` // factor is the peak over the expected one
	}
	grounds := []groundJSON{}
	for _, g := range c.Grounds {
		points := make([]shock.Point, len(g.Residuals))
		for i, x := range g.Residuals {
			points[i] = shock.Point{Pull: x.Pull, Factor: math.Exp(x.Log), Low: math.Exp(x.Low), High: math.Exp(x.High)}
		}
		grounds = append(grounds, groundJSON{shock.GroundName(g.Ground), marks(points)})
	}
	says := chartSays(text("chart.residuals", 100*math.Expm1(c.Spread)), d.Marks, d.Of, t)
	writeJSON(w, http.StatusOK, map[string]any{"grounds": grounds, "spread": c.Spread, "says": says})
	return nil
}

// apiClassChart is the multipliers of classes beside what is assumed.
func (s *server) apiClassChart(w http.ResponseWriter, r *http.Request) error {
	t, k, err := s.chartTold(r)
	if err != nil {
		return err
	}
	d, err := t.ClassChart()
	if err != nil {
		return nothingToDraw(err)
	}
	c := d.Chart
	sets, err := s.book.Sets(r.Context())
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
		one := classJSON{Class: x.Fit.Class.String(), Median: x.Fit.Median, Upper: x.Fit.Upper, Points: marks(x.Points)}
		if p, ok := k.Multiplier(x.Fit.Class); ok {
			one.Assumed = &p.Upper
		}
		classes = append(classes, one)
	}
	writeJSON(w, http.StatusOK, map[string]any{"classes": classes, "says": chartSays(text("chart.classes", k.Label()), d.Marks, d.Of, t)})
	return nil
}
