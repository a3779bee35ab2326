package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

const (
	mostLaidOver  = 3   // pulls over the first one; more lines cannot be told apart
	offeredOver   = 60  // pulls that are offered to be laid over
	overlayPoints = 800 // of a course
	overlayAround = 62 * time.Second
)

// overlayView is some pulls laid over the first of them.
type overlayView struct {
	ID      int64
	Title   string
	Align   pull.Align
	Aligns  []option
	Offered []offeredPull
	Over    []comparedView
	Figure  *figure
	Empty   bool // it was asked for without any other pull
}

// cautioned: the cautions stand above the forces.
func (overlayView) cautioned() {}

type offeredPull struct {
	ID     int64
	Label  string
	Chosen bool
}

// comparedView is what one pull has more than the first.
type comparedView struct {
	ID     int64
	Label  string
	Differ []fact
}

// laidOver is what an address asks for: the pull it names, those over it, and
// the moment at which they are aligned.
func (s *server) laidOver(r *http.Request) ([]store.Pull, pull.Align, error) {
	first, _, err := s.pullAsked(r)
	if err != nil {
		return nil, "", err
	}
	align := pull.Align(r.URL.Query().Get("align"))
	switch align {
	case "":
		align = pull.AtOnset
	case pull.AtOnset, pull.AtPeak:
	default:
		return nil, "", refuse(http.StatusBadRequest, text("refused.align", align))
	}
	all := []store.Pull{first}
	for _, with := range r.URL.Query()["with"] {
		id, err := number(with, text("page.pulls.a-pull"))
		if err != nil {
			return nil, "", err
		}
		if slices.ContainsFunc(all, func(p store.Pull) bool { return p.ID == id }) {
			continue
		}
		p, err := s.Store.Pull(r.Context(), id)
		if err != nil {
			return nil, "", err
		}
		all = append(all, p)
	}
	if len(all) > 1+mostLaidOver {
		return nil, "", refuse(http.StatusBadRequest, text("refused.toomany", mostLaidOver))
	}
	return all, align, nil
}

// overlay shows pulls laid over each other, and by how much they differ.
func (s *server) overlay(w http.ResponseWriter, r *http.Request) error {
	all, align, err := s.laidOver(r)
	if err != nil {
		return err
	}
	u := chosen(r).Unit
	v := overlayView{ID: all[0].ID, Title: s.pullLabel(all[0], u), Align: align, Empty: len(all) == 1 && r.URL.Query().Has("align"), Aligns: []option{{Value: string(pull.AtOnset), Label: text("overlay.onset")}, {Value: string(pull.AtPeak), Label: text("overlay.peak")}}}
	if v.Offered, err = s.offered(r.Context(), all, u); err != nil {
		return err
	}
	for _, p := range all[1:] {
		v.Over = append(v.Over, comparedView{p.ID, s.pullLabel(p, u), differencesOf(all[0], p, u)})
	}
	if len(all) > 1 {
		v.Figure = &figure{"overlay", "/api" + r.URL.RequestURI(), text("figure.overlay")}
	}
	return s.show(w, r, "overlay", text("overlay.title", v.ID), v)
}

func (s *server) pullLabel(p store.Pull, u unit.ForceUnit) string {
	peak, _ := peakShown(p.Found, u)
	return text("overlay.pull", p.ID, kindWords(p.Kind), s.at(p.Found.Start), peak)
}

// offerLabel names a pull with what it is chosen by: how it was pulled.
func (s *server) offerLabel(p store.Pull, u unit.ForceUnit) string {
	label := s.pullLabel(p, u)
	if p.Ground != "" {
		label += ", " + p.Ground
	}
	if p.Speed != nil {
		label += ", " + p.Speed.String()
	}
	if p.Rig != nil {
		label += ", " + p.Rig.Name
	}
	return label
}

// offered lists the latest pulls of the first one's kind, and those that are
// chosen whatever they are.
func (s *server) offered(ctx context.Context, all []store.Pull, u unit.ForceUnit) ([]offeredPull, error) {
	latest, err := s.Store.Pulls(ctx, store.PullFilter{Kind: all[0].Kind, Limit: offeredOver})
	if err != nil {
		return nil, err
	}
	for _, p := range all[1:] {
		if !slices.ContainsFunc(latest, func(l store.Pull) bool { return l.ID == p.ID }) {
			latest = append(latest, p)
		}
	}
	var out []offeredPull
	for _, p := range latest {
		if p.ID != all[0].ID {
			out = append(out, offeredPull{p.ID, s.offerLabel(p, u), slices.ContainsFunc(all, func(a store.Pull) bool { return a.ID == p.ID })})
		}
	}
	return out, nil
}

// differencesOf tells by how much pull b is more than pull a, with the 95 %
// interval of that, and where nothing can be told.
func differencesOf(a, b store.Pull, u unit.ForceUnit) []fact {
	c := pull.Compare(a.Found, b.Found, a.Cell == b.Cell)
	force := func(d pull.Difference, per string) string {
		value, low, high := unit.Force(d.Value), unit.Force(d.Low), unit.Force(d.High)
		last := unit.IntervalPlace(value, low, high, u)
		say := func(v unit.Force, told string) string { return signed(float64(v), told) + per }
		return differs(d, say(value, value.Told(u, last)), say(low, low.ToldBelow(u, last)), say(high, high.ToldAbove(u, last)))
	}
	out := []fact{{text("page.overlay.peak"), force(c.Peak, "")}}
	if d := c.RiseTime; d != nil {
		out = append(out, fact{text("page.overlay.rise-time"), differs(*d, signedSeconds(d.Value), signedSeconds(d.Low), signedSeconds(d.High))})
	}
	if d := c.RiseRate; d != nil {
		out = append(out, fact{text("page.overlay.mean-rise-rate"), force(*d, "/s")})
	}
	if fa, fb := shock.FromLog(loggedOf(a)), shock.FromLog(loggedOf(b)); fa.Reference > 0 && fb.Reference > 0 {
		out = append(out, fact{text("page.overlay.shock-factor"), text("overlay.factors", fb.Times(), fa.Times())})
	}
	return append(out, fact{text("page.overlay.impulse"), force(c.Impulse, "·s")})
}

func differs(d pull.Difference, value, low, high string) string {
	if !d.Told() {
		return text("overlay.nottold", low, high)
	}
	return text("overlay.differs", value, low, high)
}

// signed is what is told of a difference, with its sign.
func signed(v float64, told string) string {
	if v > 0 {
		return "+" + told
	}
	return told
}

func signedSeconds(v float64) string {
	return signed(v, strconv.FormatFloat(v*1000, 'f', 0, 64)+" ms")
}

// lineKeys name how the line of each pull looks, in the order of overlay.ts.
var lineKeys = [1 + mostLaidOver]string{"overlay.line.thick", "overlay.line.thin", "overlay.line.thickdashes", "overlay.line.thindashes"}

// courseJSON is the course of one pull, in the unit that is shown.
type courseJSON struct {
	Name  string    `json:"name"`
	Key   string    `json:"key"` // its name and how its line looks, see overlay.ts
	Peak  float64   `json:"peak"`
	At    float64   `json:"peak_s"` // from the moment of alignment
	From  float64   `json:"from_s"`
	Step  float64   `json:"step_s"`
	Force []float64 `json:"force"`
}

// apiOverlay gives the courses of pulls for the chart.
func (s *server) apiOverlay(w http.ResponseWriter, r *http.Request) error {
	all, align, err := s.laidOver(r)
	if err != nil {
		return err
	}
	u := chosen(r).Unit
	out := make([]courseJSON, len(all))
	for i, p := range all {
		c, err := s.course(r.Context(), p, align)
		if err != nil {
			return err
		}
		name := text("pull.title", p.ID)
		out[i] = courseJSON{name, text(lineKeys[i], name), p.Found.Peak.In(u), float64(p.Found.PeakAt-p.Found.Origin(align)) / 1e9, c.From, c.Step, make([]float64, len(c.Force))}
		for j, f := range c.Force {
			out[i].Force[j] = f.In(u)
		}
	}
	writeJSON(w, http.StatusOK, map[string]any{"unit": u, "courses": out, "says": text("overlay.says")})
	return nil
}

// course reads a pull's readings again.
func (s *server) course(ctx context.Context, p store.Pull, align pull.Align) (pull.Curve, error) {
	c, err := s.cellOf(ctx, p)
	if err != nil {
		return pull.Curve{}, err
	}
	cell, err := derive.Of(ctx, s.Store, c)
	if err != nil {
		return pull.Curve{}, err
	}
	o := pull.NewOverlay([]pull.Pull{p.Found}, align, overlayPoints)
	at, around := p.Found.Origin(align), overlayAround.Nanoseconds()
	for run, err := range s.Store.IntactRuns(ctx, p.Cell, max(p.Found.Start-2e9, at-around), min(p.Found.End+2e9, at+around), nil) {
		if err != nil {
			return pull.Curve{}, err
		}
		o.Push(cell.Batch(trace.Batch{}, run))
	}
	return o.Curves()[0], nil
}
