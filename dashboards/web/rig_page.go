package web

import (
	"context"
	"html/template"
	"net/http"
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/dashboards/chain"
	"tautlog/ingest/store"
)

// rigRoutes are the pages of rigs.
func (s *server) rigRoutes(page func(string, func(http.ResponseWriter, *http.Request) error)) {
	page("GET /rigs", s.rigs)
	page("GET /rigs/{id}", s.rig)
	page("GET /rigs/{id}/edit", s.editRig)
	page("POST /rigs/{id}/edit", s.saveRig)
	page("POST /rigs/{id}/remove", s.remove)
	page("POST /rigs/{id}/undo", s.undo)
}

// rigPage is the page of one rig.
type rigPage struct {
	Ref        int64
	Rig        rig.Rig
	Wide, Tall template.HTML
	Wrongs     []string // why it cannot be judged
	Kinetic    bool
	Mismatches []rating.Mismatch
	Links      map[string]int64 // rows of the register, by the key of an item
	Items      []gear.Item
	Apart      []string // items of which the register says something else today
	Journal    journalView
}

func (s *server) rigAsked(r *http.Request) (store.Document[rig.Rig], error) {
	id, err := number(r.PathValue("id"), "a rig")
	if err != nil {
		return store.Document[rig.Rig]{}, err
	}
	return s.Store.Rig(r.Context(), id)
}

// rig shows a rig as it is kept, and what does not fit in it by what the
// register says of its items today.
func (s *server) rig(w http.ResponseWriter, r *http.Request) error {
	d, err := s.rigAsked(r)
	if err != nil {
		return err
	}
	u := chosen(r).Unit
	o := chain.Options{Unit: u, ID: "r" + strconv.FormatInt(d.ID, 10) + "-"}
	v := rigPage{Ref: d.ID, Rig: d.Value, Wide: drawn(d.Value, nil, o, chain.Wide), Tall: drawn(d.Value, nil, o, chain.Tall), Wrongs: wrongsOf(d.Value), Links: map[string]int64{}}
	today, err := s.asRegistered(r.Context(), d.Value, &v)
	if err != nil {
		return err
	}
	_, stretches := today.Stretching()
	v.Kinetic = stretches
	kind := pull.Steady
	if stretches {
		kind = pull.Kinetic
	}
	v.Mismatches = rating.Mismatches(today, kind, string(s.today()), u)
	if v.Journal, err = s.journalOf(r.Context(), "rig", pathOf("rigs", d.ID), d.ID, d.Version); err != nil {
		return err
	}
	if !d.Removed.IsZero() {
		v.Journal.Removed = s.at(d.Removed.UnixNano())
	}
	return s.show(w, r, "rig", d.Value.Name, v)
}

// asRegistered is a rig with its items as the register has them today. A rig
// keeps copies, so that it can be read without a register.
func (s *server) asRegistered(ctx context.Context, g rig.Rig, v *rigPage) (rig.Rig, error) {
	today, err := copyOf(g)
	if err != nil {
		return g, err
	}
	err = eachUse(&today, func(u *rig.Use) error {
		d, err := s.Store.ItemByKey(ctx, u.Item.Key())
		if errorsIsNotFound(err) {
			v.Items = append(v.Items, u.Item)
			return nil
		}
		if err != nil {
			return err
		}
		if !sameItem(d.Value, u.Item) {
			v.Apart = append(v.Apart, u.Item.Name)
		}
		v.Items, v.Links[u.Item.Key()] = append(v.Items, u.Item), d.ID
		u.Item = d.Value
		return nil
	})
	return today, err
}
