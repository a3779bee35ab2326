package web

import (
	"context"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
	"tautlog/ingest/store"
)

// maxRig is the largest form of a rig: it carries copies of all its items.
const maxRig = 1 << 20

// rigRoutes are the pages of rigs.
func (s *server) rigRoutes() []route {
	return []route{
		reads("GET /rigs", s.rigs),
		reads("GET /rigs/{id}", s.rig),
		reads("GET /rigs/new", s.newRig).toOperators(),
		writes("POST /rigs/new", s.stepRig).upTo(maxRig),
		writes("POST /rigs/new/text", s.saveRigText).upTo(maxRig),
		reads("GET /rigs/{id}/edit", s.editRig).toOperators(),
		writes("POST /rigs/{id}/edit", s.stepRig).upTo(maxRig),
		reads("GET /rigs/{id}/text", s.textOfRig).toOperators(),
		writes("POST /rigs/{id}/text", s.saveRigText).upTo(maxRig),
		writes("POST /rigs/{id}/remove", s.remove),
		writes("POST /rigs/{id}/undo", s.undo),
	}
}

// rigPage is the page of one rig.
type rigPage struct {
	Ref     int64
	Rig     rig.Rig
	Ends    string // who pulls whom
	Fit     rigFit
	Links   map[string]int64 // rows of the register, by the key of an item
	Items   []gear.Item
	Apart   []string // items of which the register says something else today
	Journal journalView
}

// rigFit is a rig drawn, with what does not fit in it.
type rigFit struct {
	Wide, Tall template.HTML
	Wrongs     []string // why it cannot be judged
	Kinetic    bool
	Mismatches []rating.Mismatch
}

// fitOf looks before a pull at a rig as it is kept, by what the register says
// of its items today.
func (s *server) fitOf(ctx context.Context, g, today rig.Rig, links map[string]int64, id string, u unit.ForceUnit) (rigFit, error) {
	o := chain.Options{Unit: u, ID: id}
	v := rigFit{Wide: drawn(g, nil, o, chain.Wide), Tall: drawn(g, nil, o, chain.Tall), Wrongs: wrongsOf(g)}
	_, v.Kinetic = today.Stretching()
	var err error
	v.Mismatches, err = s.mismatches(ctx, today, links, u)
	return v, err
}

// mismatches is what does not fit in a rig whose items are as the register has
// them today, looked at as for a kinetic pull where something in it stretches.
func (s *server) mismatches(ctx context.Context, today rig.Rig, links map[string]int64, u unit.ForceUnit) ([]rating.Mismatch, error) {
	kind := pull.Steady
	if _, stretches := today.Stretching(); stretches {
		kind = pull.Kinetic
	}
	used, err := s.troubles.usedBy(ctx, slices.Collect(maps.Values(links))...)
	return rating.MismatchesUsed(today, kind, string(s.today()), u, func(it gear.Item) gear.Used { return used[links[it.Key()]] }), err
}

func (s *server) rigAsked(r *http.Request) (store.Document[rig.Rig], error) {
	id, err := number(r.PathValue("id"), text("number.rig"))
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
	v := rigPage{Ref: d.ID, Rig: d.Value, Ends: ends(d.Value), Links: map[string]int64{}}
	today, err := s.asRegistered(r.Context(), d.Value, &v)
	if err != nil {
		return err
	}
	if v.Fit, err = s.fitOf(r.Context(), d.Value, today, v.Links, "r"+strconv.FormatInt(d.ID, 10)+"-", chosen(r).Unit); err != nil {
		return err
	}
	if v.Journal, err = s.journalOf(r, "rig", pathOf("rigs", d.ID), d.ID, d.Version); err != nil {
		return err
	}
	if !d.Removed.IsZero() {
		v.Journal.Removed = s.at(d.Removed.UnixNano())
	}
	return s.show(w, r, "rig", d.Value.Name, v)
}

// ApartNames are the items of which the register says something else.
func (v rigPage) ApartNames() string { return strings.Join(v.Apart, ", ") }

// ends says who pulls whom.
func ends(g rig.Rig) string {
	end := func(v gear.Vehicle) string {
		if v.GVM == nil {
			return v.Name
		}
		return text("rig.ends.mass", v.Name, v.GVM)
	}
	return text("rig.ends", end(g.Pulling), end(g.Stuck))
}

// asRegistered is a rig with its items as the register has them today. A rig
// keeps copies, so that it can be read without a register.
func (s *server) asRegistered(ctx context.Context, g rig.Rig, v *rigPage) (rig.Rig, error) {
	today, err := copyOf(g)
	if err != nil {
		return g, err
	}
	err = eachUse(&today, func(p placed) error {
		u := p.Use
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
