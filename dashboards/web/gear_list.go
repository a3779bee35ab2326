package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// gearView is the register of gear.
type gearView struct {
	Text     string
	Kind     string
	Kinds    []gear.Kind
	Shows    string // "", "trouble", "retired" or "removed"
	Title    string
	Troubles []itemView
	Count    int // in trouble, of which Troubles may show the first
	Items    []itemView
	Next     string // address of the next page; empty: none
	Links    []link
}

type link struct{ To, Label string }

// itemView is one piece of gear, told.
type itemView struct {
	gear.Item
	Ref      int64
	Rated    []string
	Troubles []string
	Retired  string
}

// What says what it is and where, in short.
func (v itemView) What() string { return whatItIs(v.Item) }

func whatItIs(it gear.Item) string {
	say := it.Kind.Words()
	if it.Vehicle != "" {
		say = text("gear.what.on", say, it.Vehicle)
	}
	if it.Where != "" {
		say = text("gear.what.where", say, it.Where)
	}
	return say
}

// shownTroubles is how many items in trouble stand above the list.
const shownTroubles = 10

// gear lists the register: what is in trouble first, then by ID or name.
func (s *server) gear(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	v := gearView{Text: q.Get("text"), Kind: q.Get("kind"), Kinds: gear.Kinds(), Shows: q.Get("show")}
	if v.Kind != "" && !gear.Kind(v.Kind).Known() {
		return refuse(http.StatusBadRequest, text("refused.gearkind", v.Kind))
	}
	v.Title = text("gear.title" + v.shows())
	names, err := s.vehicleNames(r.Context())
	if err != nil {
		return err
	}
	if err := s.listGear(r.Context(), q, &v, names, chosen(r).Unit); err != nil {
		return err
	}
	v.Links = v.links()
	return s.show(w, r, "gear", v.Title, v)
}

func (v gearView) shows() string {
	switch v.Shows {
	case "trouble", "retired", "removed":
		return "." + v.Shows
	}
	return ""
}

func (s *server) listGear(ctx context.Context, q url.Values, v *gearView, names map[string]string, u unit.ForceUnit) error {
	after := q.Get("after")
	if v.Shows == "" && after == "" || v.Shows == "trouble" {
		if err := s.listTroubles(ctx, q, v, names, u); err != nil || v.Shows == "trouble" {
			return err
		}
	}
	f := store.Find{Text: v.Text, Kind: gear.Kind(v.Kind), After: after, Limit: listed + 1, Retired: gear.No}
	switch v.Shows {
	case "retired":
		f.Retired = gear.Yes
	case "removed":
		f.Retired, f.Removed = gear.NotKnown, true
	}
	docs, err := s.Store.FindItems(ctx, f)
	if err != nil {
		return err
	}
	if len(docs) > listed {
		docs = docs[:listed]
		if !f.Removed {
			v.Next = nextPage("/gear", q, docs[listed-1].Value.Key())
		}
	}
	docs = slices.DeleteFunc(docs, func(d store.Document[gear.Item]) bool {
		return slices.ContainsFunc(v.Troubles, func(above itemView) bool { return above.Ref == d.ID })
	})
	v.Items, err = s.itemViews(ctx, docs, names, u)
	return err
}

// itemViews tells items of the register.
func (s *server) itemViews(ctx context.Context, docs []store.Document[gear.Item], names map[string]string, u unit.ForceUnit) (out []itemView, err error) {
	ids := make([]int64, len(docs))
	for i, d := range docs {
		ids[i] = d.ID
	}
	used, err := s.troubles.usedBy(ctx, ids...)
	if err != nil {
		return nil, err
	}
	for _, d := range docs {
		one := itemView{Item: onVehicle(d.Value, names), Ref: d.ID, Rated: rated(d.Value, u), Troubles: life.Troubles(d.Value, used[d.ID], s.today(), u)}
		if d.Value.Retired != nil {
			one.Retired = life.Retired.Says(*d.Value.Retired)
		}
		out = append(out, one)
	}
	return out, nil
}

// listTroubles adds what is in trouble: the first few above a list, or a page.
func (s *server) listTroubles(ctx context.Context, q url.Values, v *gearView, names map[string]string, u unit.ForceUnit) error {
	all, err := s.troubles.all(ctx, s.today())
	if err != nil {
		return err
	}
	limit := shownTroubles
	if v.Shows == "trouble" {
		limit = listed
	}
	for _, t := range all {
		if !t.fits(v.Text, gear.Kind(v.Kind)) {
			continue
		}
		v.Count++
		if t.Item.Key() <= q.Get("after") {
			continue
		}
		if len(v.Troubles) == limit {
			v.Next = nextPage("/gear", q, v.Troubles[limit-1].Key())
			continue
		}
		v.Troubles = append(v.Troubles, itemView{Item: onVehicle(t.Item, names), Ref: t.ID, Rated: rated(t.Item, u), Troubles: life.Troubles(t.Item, t.Used, s.today(), u)})
	}
	if v.Shows == "" {
		v.Next = ""
	}
	return nil
}

func (v gearView) links() (out []link) {
	for _, to := range []string{"", "trouble", "retired", "removed"} {
		if to != v.Shows {
			out = append(out, link{"/gear" + asQuery("show", to), text("gear.link." + to)})
		}
	}
	return out
}

func asQuery(name, value string) string {
	if value == "" {
		return ""
	}
	return "?" + url.Values{name: {value}}.Encode()
}

func nextPage(path string, q url.Values, after string) string {
	next := url.Values{}
	for k := range q {
		next[k] = q[k]
	}
	next.Set("after", after)
	return path + "?" + next.Encode()
}

// today is the day at the place where the pages are shown.
func (s *server) today() gear.Date { return gear.Date(s.Now().In(s.Zone).Format("2006-01-02")) }

// onVehicle is an item with its vehicle called by the name that people know.
func onVehicle(it gear.Item, names map[string]string) gear.Item {
	if name := names[it.Vehicle]; name != "" {
		it.Vehicle = name
	}
	return it
}
