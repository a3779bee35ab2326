package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"time"

	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// reviewView is the part of a pull's page that puts right what was found: two
// pulls of one, one of two, or none.
type reviewView struct {
	Aside  string // that it is set aside, by whom; empty: it counts
	Of     int64  // the pull that it is part of; 0: none
	Parts  []asidePart
	Open   bool
	Wrong  string // why what was asked for was refused
	Stale  *stale
	At     entry
	Beside []neighbour // that it may be joined with
	Tried  *partsView  // what parting it would give
}

// asidePart is a pull that was set aside as a part of the one at hand.
type asidePart struct {
	ID   int64
	When string
}

// neighbour is the pull before or behind another of its cell.
type neighbour struct {
	ID   int64
	Says string
}

// partsView tells the pulls that would be there, or why they cannot be.
type partsView struct {
	Wrong          string
	Parts          []partView
	At, Start, End float64 // the moments of the form, s from the origin of the chart
}

// partView tells one of them.
type partView struct {
	Name    string
	Facts   []fact
	Remarks []string
}

func partEntry() entry {
	return entry{Name: "at", Label: text("review.at"), Hint: text("review.at.hint")}
}

// reviewView shows what may be done about a pull that is over; nil for one that
// is not.
func (s *server) reviewView(ctx context.Context, p store.Pull, f pullForms) (*reviewView, error) {
	if !p.Settled {
		return nil, nil
	}
	v := &reviewView{Stale: f.reviewStale, Tried: f.reviewTried, Open: f.review.q != nil || f.reviewStale != nil, At: f.review.set(partEntry())[0]}
	if !f.review.good() {
		v.Wrong = f.review.all()[0]
	}
	if a := p.Aside; a != nil {
		v.Of, v.Aside = a.Of, text("review.aside", a.Who, s.at(a.At))
		return v, nil
	}
	var err error
	if v.Beside, err = s.neighbours(ctx, p); err != nil {
		return nil, err
	}
	aside, err := s.Store.Pulls(ctx, store.PullFilter{Cell: p.Cell, Aside: true})
	for _, q := range slices.Backward(aside) {
		if q.Aside.Of == p.ID {
			v.Parts = append(v.Parts, asidePart{q.ID, s.clockOf(q.Found.Start)})
		}
	}
	return v, err
}

// neighbours are the pulls before and behind p of its cell.
func (s *server) neighbours(ctx context.Context, p store.Pull) (out []neighbour, err error) {
	const near = int64(6 * time.Hour) // no pull is longer
	all, err := s.Store.Pulls(ctx, store.PullFilter{Cell: p.Cell, From: p.Found.Start - near, To: p.Found.Start + near})
	i := slices.IndexFunc(all, func(q store.Pull) bool { return q.ID == p.ID })
	for _, n := range []struct {
		at   int
		name string
	}{{i + 1, "review.before"}, {i - 1, "review.behind"}} {
		if i >= 0 && n.at >= 0 && n.at < len(all) && all[n.at].Settled {
			q := all[n.at]
			out = append(out, neighbour{q.ID, text(n.name, q.ID, s.clockOf(q.Found.Start))})
		}
	}
	return out, err
}

// reviewPull parts, joins or sets aside a pull, or with "try" only shows what
// would come of it.
func (s *server) reviewPull(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	forms := emptyForms(p)
	forms.review = f
	do := f.q.Get("do")
	if do == "try" {
		if forms.version, err = versionOf(r); err != nil {
			return err
		}
		if forms.reviewTried, err = s.tryParting(r, f, p, c); err != nil {
			return err
		}
		return s.showPull(w, r, p, c, forms)
	}
	acts := map[string]func(ctx context.Context, now store.Pull) error{"part": s.partPull(f, c), "join": s.joinPulls(f, c), "aside": s.setAside(true), "back": s.setAside(false)}
	act, ok := acts[do]
	if !ok {
		return refuse(http.StatusBadRequest, text("refused.review"))
	}
	k := s.limitsKeeper(f, p, c)
	k.main = "at"
	k.over = func(was limits) (limits, error) { // its limits are to be those that it was shown with
		if do == "part" {
			s.momentOf(f, p)
		}
		return was, nil
	}
	k.save = func(ctx context.Context, d store.Document[limits]) (store.Document[limits], error) {
		now, err := s.Store.Pull(ctx, d.ID)
		if err == nil && now.Version != d.Version {
			err = store.ErrConflict
		}
		if err == nil {
			err = act(ctx, now)
		}
		return d, err
	}
	k.show = func(d store.Document[limits], st *stale) error {
		forms.reviewStale, forms.version = st, d.Version
		return s.showPull(w, r, p, c, forms)
	}
	return k.keep(s, w, r, f, p.ID)
}

// momentOf reads at which moment a pull is to be parted.
func (s *server) momentOf(f *sheet, p store.Pull) time.Time {
	at, err := derive.Moment(f.typed("at"), time.Unix(0, p.Found.Start).In(s.Zone))
	if err != nil {
		f.refuse("at", sentence(err.Error()))
	}
	return at
}

func (s *server) partPull(f *sheet, c store.Cell) func(ctx context.Context, now store.Pull) error {
	return func(ctx context.Context, now store.Pull) error {
		cell, err := derive.Of(ctx, s.Store, c)
		if err != nil {
			return err
		}
		first, second, err := cell.Parted(ctx, s.Store, now, s.momentOf(f, now).UnixNano())
		if err == nil {
			_, _, err = s.Store.PartPull(ctx, first, second)
		}
		return err
	}
}

func (s *server) joinPulls(f *sheet, c store.Cell) func(ctx context.Context, now store.Pull) error {
	return func(ctx context.Context, now store.Pull) error {
		id, err := number(f.q.Get("with"), text("page.pulls.a-pull"))
		if err != nil {
			return err
		}
		with, err := s.Store.Pull(ctx, id)
		if err != nil {
			return err
		}
		cell, err := derive.Of(ctx, s.Store, c)
		if err != nil {
			return err
		}
		into, other, err := cell.Joined(ctx, s.Store, now, with)
		if err == nil {
			_, _, err = s.Store.JoinPulls(ctx, into, other)
		}
		return err
	}
}

func (s *server) setAside(aside bool) func(ctx context.Context, now store.Pull) error {
	return func(ctx context.Context, now store.Pull) error {
		if now.Aside = nil; aside {
			now.Aside = &store.Aside{}
		}
		_, err := s.Store.SavePull(ctx, now)
		return err
	}
}

// triedParting is what parting a pull would give, for the script.
func (s *server) triedParting(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	v, err := s.tryParting(r, newSheet(r.URL.Query()), p, c)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "pull", "tried-parts", v)
}

// tryParting measures the two parts of a pull.
func (s *server) tryParting(r *http.Request, f *sheet, p store.Pull, c store.Cell) (*partsView, error) {
	at := s.momentOf(f, p)
	if !f.good() {
		return &partsView{Wrong: f.all()[0]}, nil
	}
	cell, err := derive.Of(r.Context(), s.Store, c)
	if err != nil {
		return nil, err
	}
	first, second, err := cell.Parted(r.Context(), s.Store, p, at.UnixNano())
	if errors.Is(err, store.ErrLimits) {
		return &partsView{Wrong: limitsSay(err)}, nil
	}
	if err != nil {
		return nil, err
	}
	u := chosen(r).Unit
	second.Rig, second.PullerMass, second.StuckMass = first.Rig, first.PullerMass, first.StuckMass
	v := &partsView{Parts: []partView{s.partTold(text("review.first"), first, u), s.partTold(text("review.second"), second, u)}}
	v.At = float64(at.UnixNano()-originOf(p)) / 1e9
	return v, nil
}

// partTold tells a pull that would be there.
func (s *server) partTold(name string, p store.Pull, u unit.ForceUnit) partView {
	between := text("review.between", s.clockOf(p.Found.Start), s.clockOf(p.Found.End))
	return partView{Name: name, Facts: append([]fact{{text("limits.title"), between}}, s.limitLines(p, u)...), Remarks: p.Found.Remarks}
}
