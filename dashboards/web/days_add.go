package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"time"

	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// addView is the form of a day's trace that logs a pull which was not found.
type addView struct {
	Open   bool
	Wrong  bool
	Fields []entry
	Tried  *partsView
}

func addEntries() []entry {
	return []entry{
		{Name: "start", Label: text("limits.start"), Hint: text("review.add.hint")},
		{Name: "end", Label: text("limits.end")},
	}
}

// addPull logs a pull that was not found, or with "try" only shows what it would
// be.
func (s *server) addPull(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(r.PostForm)
	p, tried, err := s.tryAdding(r, f)
	if err != nil {
		return err
	}
	if f.good() && f.q.Get("do") == "keep" {
		made, err := s.Store.MakePull(s.signed(w, r, "who"), p)
		if err == nil {
			http.Redirect(w, r, pathOf("pulls", made.ID), http.StatusSeeOther)
			return nil
		}
		if !errors.Is(err, store.ErrLimits) {
			return storeSays(err)
		}
		f.refuse("start", limitsSay(err))
	}
	return s.showDayTrace(w, r, f, tried)
}

// triedAdding is what a pull would be that was not found, for the script.
func (s *server) triedAdding(w http.ResponseWriter, r *http.Request) error {
	_, tried, err := s.tryAdding(r, newSheet(r.URL.Query()))
	if err != nil {
		return err
	}
	return s.fragment(w, r, "daytrace", "tried-parts", tried)
}

// tryAdding measures what lies between two moments of the cell that a form
// names. What is wrong stands in f.
func (s *server) tryAdding(r *http.Request, f *sheet) (p store.Pull, tried *partsView, err error) {
	day, err := s.dateAsked(r)
	if err != nil {
		return p, nil, err
	}
	c, err := s.Store.CellByName(r.Context(), f.q.Get("cell"))
	if err != nil {
		return p, nil, err
	}
	noon := day.Add(12 * time.Hour).UnixNano() // beside which each time of the day is of that day
	l := s.readLimits(f, limits{From: noon, To: noon})
	if f.good() {
		cell, err := derive.Of(r.Context(), s.Store, c)
		if err != nil {
			return p, nil, err
		}
		if p, err = cell.Made(r.Context(), s.Store, l.From, l.To); errors.Is(err, store.ErrLimits) {
			f.refuse("start", limitsSay(err))
		} else if err != nil {
			return p, nil, err
		}
	}
	if !f.good() {
		return p, &partsView{Wrong: f.all()[0]}, nil
	}
	from, to := bounds(day)
	whole, err := s.Store.Outline(r.Context(), c.ID, from, to, 1)
	if err != nil || len(whole) == 0 {
		return p, nil, errors.Join(err, store.ErrNotFound)
	}
	sec := func(t int64) float64 { return float64(t-whole[0].From/1e6*1e6) / 1e9 }
	return p, &partsView{Parts: []partView{s.partTold(text("review.added"), p, chosen(r).Unit)}, Start: sec(l.From), End: sec(l.To)}, nil
}

// asideOn tells the pulls of a date that are set aside.
func (s *server) asideOn(ctx context.Context, day time.Time) (out []asidePart, err error) {
	from, to := bounds(day)
	all, err := s.Store.Pulls(ctx, store.PullFilter{Aside: true})
	for _, p := range all {
		if p.Found.Start >= from && p.Found.Start < to {
			out = append(out, asidePart{p.ID, s.clockOf(p.Found.Start)})
		}
	}
	slices.SortFunc(out, func(a, b asidePart) int { return int(a.ID - b.ID) })
	return out, err
}
