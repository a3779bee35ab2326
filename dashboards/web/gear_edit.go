package web

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/ingest/store"
)

// formPage is the form of a document of the register.
type formPage struct {
	Title, Action, Back string
	Version             int64
	Groups              []group
	Hidden              map[string]string // how often parts are repeated
	Adds                []link            // buttons that add a part
	Wrongs              []wrongField
	Stale               *stale // where somebody else was faster
	Who                 entry
	Journal             *journalView // below the form; nil: it is on a page of its own
	Token               string
}

// itemAdds are the buttons that repeat a part of an item's form: the field that
// counts it, and what stands on the button.
func itemAdds() []link {
	return []link{{"ratings", text("form.more.rating")}, {"bolts", text("form.more.bolts")}}
}

func (s *server) newItem(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(nil)
	if on := r.URL.Query().Get("vehicle"); on != "" { // from its page: a point of it
		id, err := number(on, text("page.vehicles.a-vehicle"))
		if err != nil {
			return err
		}
		d, err := s.Store.Vehicle(r.Context(), id)
		if err != nil {
			return err
		}
		f.fill(map[string]string{"vehicle": d.Value.Name, "kind": string(gear.RecoveryPoint)})
	}
	return s.itemFormPage(w, r, store.Document[gear.Item]{}, f, nil)
}

func (s *server) editItem(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(nil)
	f.fill(itemTyped(d.Value))
	return s.itemFormPage(w, r, d, f, nil)
}

func (s *server) itemFormPage(w http.ResponseWriter, r *http.Request, d store.Document[gear.Item], f *sheet, st *stale) error {
	groups, err := s.itemForm(r.Context(), f.in(chosen(r).Unit))
	if err != nil {
		return err
	}
	v := formPage{
		Title: text("form.newitem"), Action: "/gear/new", Back: "/gear", Version: d.Version, Groups: groups, Adds: itemAdds(),
		Hidden: map[string]string{"ratings": strconv.Itoa(f.rows("ratings", 1)), "bolts": strconv.Itoa(f.rows("bolts", 1))},
		Wrongs: f.wrongs(groups), Stale: st, Token: s.tokenIn(r.Context()),
	}
	if d.ID != 0 {
		v.Title, v.Back = text("form.edit", d.Value.Name), pathOf("gear", d.ID)
		v.Action = v.Back + "/edit"
	}
	return s.showForm(w, r, v, f)
}

// showForm shows a form of the register, with the status that it deserves.
func (s *server) showForm(w http.ResponseWriter, r *http.Request, v formPage, f *sheet) error {
	f.fill(map[string]string{"who": signature(r)})
	v.Who = f.set(entry{Name: "who", Label: text("page.gear.edit.who"), Hint: text("page.gear.edit.who.hint")})[0]
	return s.showAs(w, r, formStatus(f, v.Stale != nil), "registerform", v.Title, v)
}

func (s *server) saveNewItem(w http.ResponseWriter, r *http.Request) error {
	return s.keepItem(w, r, 0)
}

func (s *server) saveItem(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	return s.keepItem(w, r, d.ID)
}

// keepItem keeps an item as it was typed, or repeats a part of its form.
func (s *server) keepItem(w http.ResponseWriter, r *http.Request, id int64) error {
	f := newSheet(r.PostForm)
	e := keeper[gear.Item]{
		who: s.changedBy("item"), main: "name", path: func(id int64) string { return pathOf("gear", id) },
		read: s.Store.Item, at: s.Store.ItemAt, save: s.Store.SaveItem,
		over:  func(was gear.Item) (gear.Item, error) { return readItem(f, was), nil },
		isNew: func(it gear.Item) error { return s.freeKey(r, f, it) },
		typed: itemTyped, labels: func(of ...gear.Item) map[string]string { return s.itemLabels(r, of) },
		show: func(d store.Document[gear.Item], st *stale) error { return s.itemFormPage(w, r, d, f, st) },
	}
	if add := r.PostForm.Get("add"); add != "" {
		d, err := e.begun(r, id)
		if err != nil {
			return err
		}
		more(f, add, itemAdds())
		return e.show(d, nil)
	}
	return e.keep(s, w, r, f, id)
}

// freeKey refuses a new item that would be written over another one.
func (s *server) freeKey(r *http.Request, f *sheet, it gear.Item) error {
	_, err := s.Store.ItemByKey(r.Context(), it.Key())
	if err == nil {
		field := "name"
		if it.ID != "" {
			field = "id"
		}
		f.refuse(field, text("field.taken", it.Key()))
	}
	return ignoreMissing(err)
}

// more repeats a part of a form once more.
func more(f *sheet, name string, adds []link) {
	if slices.ContainsFunc(adds, func(a link) bool { return a.To == name }) {
		f.q = url.Values(maps.Clone(f.q))
		f.q.Set(name, strconv.Itoa(min(f.rows(name, 1)+1, mostRows)))
	}
}

// itemLabels are the labels of the fields in which some items are shown.
func (s *server) itemLabels(r *http.Request, of []gear.Item) map[string]string {
	out := map[string]string{}
	for _, it := range of {
		f := newSheet(nil)
		f.fill(itemTyped(it))
		if groups, err := s.itemForm(r.Context(), f); err == nil {
			maps.Copy(out, labelsOf(groups))
		}
	}
	return out
}

func labelsOf(groups []group) map[string]string {
	out := map[string]string{}
	for _, g := range groups {
		for _, e := range g.Fields {
			out[e.Name] = e.Label
		}
	}
	return out
}
