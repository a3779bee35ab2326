package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"time"

	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// limits are where a pull starts and ends.
type limits struct {
	From  int64 `json:"from"` // ns UTC
	To    int64 `json:"to"`
	Found bool  `json:"found"` // they are those that were found
}

func limitsOf(p store.Pull) limits {
	if l := p.Limits; l != nil {
		return limits{From: l.From, To: l.To}
	}
	return limits{p.Found.Start, p.Found.End, true}
}

// foundLimits are those that were found, whatever is set.
func foundLimits(p store.Pull) limits {
	found, _ := p.ByFinder()
	return limits{found.Start, found.End, true}
}

// limitsView is the part of a pull's page that tells and sets where it starts
// and ends.
type limitsView struct {
	Says   string // where it does, and who set that
	Open   bool
	Fields []entry
	Set    bool // a person has set them, and something was found to go back to
	Wrong  bool
	Stale  *stale
	Tried  *triedView

	// For the handles of the chart.
	Try      template.URL
	Review   template.URL
	Midnight int64   // ms UTC, from which its clock counts
	From, To float64 // s from the origin of the chart
	Step     float64 // s between readings
	Digits   int     // of the seconds that are written
}

// triedView tells what limits would make of a pull.
type triedView struct {
	Wrong    string
	Changed  []fact
	Remarks  []string // what is to be known of it that is not of the pull as it is
	From, To float64  // s from the start of the pull as it is; 0 where wrong
}

func (s *server) clockOf(ns int64) string {
	return time.Unix(0, ns).In(s.Zone).Format(derive.MomentShown)
}

// saysLimits tells where a pull starts and ends, and who set that.
func (s *server) saysLimits(p store.Pull, u unit.ForceUnit) string {
	l := p.Limits
	if l == nil {
		return text("limits.found", s.clockOf(p.Found.Start), s.clockOf(p.Found.End))
	}
	if l.Made {
		return text("limits.made", s.clockOf(l.From), s.clockOf(l.To), l.Who, s.at(l.At))
	}
	peak, interval := peakShown(l.Found, u)
	return text("limits.set", s.clockOf(l.From), s.clockOf(l.To), l.Who, s.at(l.At), s.clockOf(l.Found.Start), s.clockOf(l.Found.End), peak+" "+interval)
}

func limitEntries() []entry {
	return []entry{
		{Name: "start", Label: text("limits.start"), Hint: text("limits.hint")},
		{Name: "end", Label: text("limits.end")},
	}
}

// originOf is the time from which the chart of a pull counts, ns UTC.
func originOf(p store.Pull) int64 { return p.Found.Start / 1e6 * 1e6 }

// limitsView shows the limits of a pull that is over; nil for one that is not.
func (s *server) limitsView(p store.Pull, f pullForms, u unit.ForceUnit) *limitsView {
	if !p.Settled || p.Aside != nil {
		return nil
	}
	if f.limits.q == nil {
		f.limits.fill(s.limitsTyped(limitsOf(p)))
	}
	now := limitsOf(p)
	origin := originOf(p)
	clock := time.Unix(0, p.Found.Start).In(s.Zone)
	today := time.Duration(clock.Hour())*time.Hour + time.Duration(clock.Minute())*time.Minute + time.Duration(clock.Second())*time.Second
	v := &limitsView{
		Says: s.saysLimits(p, u), Set: !now.Found && !p.Limits.Made, Fields: f.limits.set(limitEntries()...), Wrong: !f.limits.good(),
		Stale: f.limitsStale, Tried: f.tried, Open: f.limits.q != nil || f.limitsStale != nil,
		Try: template.URL(pathOf("pulls", p.ID) + "/limits"), Review: template.URL(pathOf("pulls", p.ID) + "/review"),
		Midnight: clock.Truncate(time.Second).Add(-today).UnixMilli(),
		From:     float64(now.From-origin) / 1e9, To: float64(now.To-origin) / 1e9, Step: 0.001, Digits: 3,
	}
	if p.Found.Rate > 0 {
		v.Step = 1 / p.Found.Rate
	}
	if p.Found.Rate > 1000 {
		v.Digits = 4
	}
	return v
}

// limitsTyped is where a pull starts and ends, as it would be typed.
func (s *server) limitsTyped(l limits) map[string]string {
	return map[string]string{"start": s.clockOf(l.From), "end": s.clockOf(l.To)}
}

// readLimits reads what was typed over the limits that the form was shown
// with. A field that was left as it was shown leaves that limit as it is.
func (s *server) readLimits(f *sheet, was limits) limits {
	now, shown, near := was, s.limitsTyped(was), time.Unix(0, was.From).In(s.Zone)
	for name, at := range map[string]*int64{"start": &now.From, "end": &now.To} {
		typed := f.typed(name)
		if typed == shown[name] {
			continue
		}
		t, err := derive.Moment(typed, near)
		if err != nil {
			f.refuse(name, sentence(err.Error()))
			continue
		}
		*at, now.Found = t.UnixNano(), false
	}
	if f.good() && now.To <= now.From {
		f.refuse("end", text("limits.backwards"))
	}
	return now
}

// withLimits gives a pull as it would be with limits. It changes nothing.
func (s *server) withLimits(ctx context.Context, p store.Pull, c store.Cell, l limits) (store.Pull, error) {
	if l.Found {
		return derive.AsFound(ctx, s.Store, p)
	}
	cell, err := derive.Of(ctx, s.Store, c)
	if err != nil {
		return p, err
	}
	return cell.WithLimits(ctx, s.Store, p, l.From, l.To)
}

// limitsKeeper keeps the limits of a pull; show is the caller's.
func (s *server) limitsKeeper(f *sheet, p store.Pull, c store.Cell) keeper[limits] {
	document := func(p store.Pull, err error) (store.Document[limits], error) {
		return store.Document[limits]{ID: p.ID, Version: p.Version, Value: limitsOf(p)}, err
	}
	return keeper[limits]{
		who: s.saidBy, main: "start", path: func(id int64) string { return pathOf("pulls", id) + "#limits" },
		read: func(ctx context.Context, id int64) (store.Document[limits], error) {
			return document(s.Store.Pull(ctx, id))
		},
		at: func(ctx context.Context, id, version int64) (limits, error) {
			p, err := s.Store.PullAt(ctx, id, version)
			return limitsOf(p), err
		},
		save: func(ctx context.Context, d store.Document[limits]) (store.Document[limits], error) {
			now, err := s.Store.Pull(ctx, d.ID)
			if err != nil || limitsOf(now) == d.Value {
				return document(now, err)
			}
			tried, err := s.withLimits(ctx, now, c, d.Value)
			if err != nil {
				return d, err
			}
			tried.Version = d.Version
			return document(s.Store.SavePull(ctx, tried))
		},
		over: func(was limits) (limits, error) {
			if f.q.Get("do") == "found" {
				return foundLimits(p), nil
			}
			return s.readLimits(f, was), nil
		},
		typed: s.limitsTyped, labels: func(...limits) map[string]string { return labelsOf([]group{{Fields: limitEntries()}}) },
	}
}

// setLimits keeps where a pull starts and ends, or with "try" only shows what
// would come of it.
func (s *server) setLimits(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	forms := emptyForms(p)
	forms.limits = f
	if f.q.Get("do") == "try" {
		if forms.version, err = versionOf(r); err != nil {
			return err
		}
		forms.tried, err = s.tryLimits(r, f, p, c)
		if err != nil {
			return err
		}
		return s.showPull(w, r, p, c, forms)
	}
	k := s.limitsKeeper(f, p, c)
	k.show = func(d store.Document[limits], st *stale) error {
		forms.limitsStale, forms.version = st, d.Version
		return s.showPull(w, r, p, c, forms)
	}
	return k.keep(s, w, r, f, p.ID)
}

// triedLimits is what limits would make of a pull, for the script.
func (s *server) triedLimits(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	v, err := s.tryLimits(r, newSheet(r.URL.Query()), p, c)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "pull", "tried", v)
}

// tryLimits measures a pull within the limits of a form.
func (s *server) tryLimits(r *http.Request, f *sheet, p store.Pull, c store.Cell) (*triedView, error) {
	l := s.readLimits(f, limitsOf(p))
	if !f.good() {
		return &triedView{Wrong: f.all()[0]}, nil
	}
	tried, err := s.withLimits(r.Context(), p, c, l)
	if errors.Is(err, store.ErrLimits) {
		return &triedView{Wrong: limitsSay(err)}, nil
	}
	if err != nil {
		return nil, err
	}
	origin := originOf(p)
	v := &triedView{From: float64(l.From-origin) / 1e9, To: float64(l.To-origin) / 1e9}
	u := chosen(r).Unit
	was, is := s.limitLines(p, u), s.limitLines(tried, u)
	for i, l := range was {
		says := text("limits.stays", is[i].Value)
		if l.Value != is[i].Value {
			says = text("limits.would", l.Value, is[i].Value)
		}
		v.Changed = append(v.Changed, fact{l.Name, says})
	}
	for _, remark := range tried.Found.Remarks {
		if !slices.Contains(p.Found.Remarks, remark) {
			v.Remarks = append(v.Remarks, remark)
		}
	}
	return v, nil
}

// limitLines are the numbers of a pull that hang on its limits.
func (s *server) limitLines(p store.Pull, u unit.ForceUnit) []fact {
	peak, interval := peakShown(p.Found, u)
	return []fact{
		{text("again.peak"), peak + " " + interval}, {text("page.pull.limits.rise"), rise(p.Found, u)},
		{text("page.pull.limits.impulse"), text("impulse", impulse(p.Found.ToPeak, u), unit.ShowWithin(unit.Force(p.Found.Impulse), unit.Force(p.Found.Impulse95), u)+"·s")},
		{text("page.pull.limits.shock-factor"), shockTimes(p)}, {text("page.pull.limits.lasted"), seconds(float64(p.Found.End-p.Found.Start) / 1e9)}, {text("again.kind"), kindWords(p.Kind)},
	}
}
