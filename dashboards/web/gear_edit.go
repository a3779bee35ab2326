package web

import (
	"errors"
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
	Wrongs              int
	Theirs              []clash // where somebody else was faster
	Who                 entry
	Token               string
}

// clash is a field that somebody else changed while this form was filled in.
type clash struct{ Label, Theirs, Yours string }

// itemAdds are the buttons that repeat a part of an item's form: the field that
// counts it, and what stands on the button.
var itemAdds = []link{{"ratings", "Another rating"}, {"bolts", "Another group of bolts"}}

func (s *server) newItem(w http.ResponseWriter, r *http.Request) error {
	return s.itemFormPage(w, r, store.Document[gear.Item]{}, newSheet(nil), nil)
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

func (s *server) itemFormPage(w http.ResponseWriter, r *http.Request, d store.Document[gear.Item], f *sheet, theirs []clash) error {
	groups, err := s.itemForm(r.Context(), f)
	if err != nil {
		return err
	}
	v := formPage{
		Title: text("form.newitem"), Action: "/gear/new", Back: "/gear", Version: d.Version, Groups: groups, Adds: itemAdds,
		Hidden: map[string]string{"ratings": strconv.Itoa(f.rows("ratings", 1)), "bolts": strconv.Itoa(f.rows("bolts", 1))},
		Wrongs: len(f.wrong), Theirs: theirs, Token: s.tokenIn(r.Context()),
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
	v.Who = f.set(entry{Name: "who", Label: "Who", Hint: "goes into the journal"})[0]
	return s.showAs(w, r, formStatus(f, v.Theirs != nil), "registerform", v.Title, v)
}

func (s *server) saveNewItem(w http.ResponseWriter, r *http.Request) error {
	return s.keepItem(w, r, store.Document[gear.Item]{})
}

func (s *server) saveItem(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	return s.keepItem(w, r, d)
}

// keepItem keeps an item as it was typed. Where somebody else was faster, the
// form comes back with both versions.
func (s *server) keepItem(w http.ResponseWriter, r *http.Request, d store.Document[gear.Item]) error {
	f := newSheet(r.PostForm)
	version, err := versionOf(r, d.ID)
	if err != nil {
		return err
	}
	if add := r.PostForm.Get("add"); add != "" {
		more(f, add, itemAdds)
		d.Version = version // of what the form was begun with, not of now
		return s.itemFormPage(w, r, d, f, nil)
	}
	it := readItem(f, d.Value)
	if version != d.Version {
		return s.itemFormPage(w, r, d, f, clashes(f, itemTyped(d.Value), s.itemLabels(r, f)))
	}
	if d.ID == 0 {
		if err := s.freeKey(r, f, it); err != nil {
			return err
		}
	}
	if !f.good() {
		return s.itemFormPage(w, r, d, f, nil)
	}
	d.Value = it
	kept, err := s.Store.SaveItem(s.signed(w, r, "who"), d)
	switch {
	case errors.Is(err, store.ErrConflict), errors.Is(err, store.ErrInvalid):
		return s.itemRefused(w, r, d.ID, f, err)
	case err != nil:
		return err
	}
	http.Redirect(w, r, pathOf("gear", kept.ID), http.StatusSeeOther)
	return nil
}

// itemRefused shows the form again after the store refused what was typed.
func (s *server) itemRefused(w http.ResponseWriter, r *http.Request, id int64, f *sheet, err error) error {
	var now store.Document[gear.Item]
	if id != 0 {
		var gone error
		if now, gone = s.Store.Item(r.Context(), id); gone != nil {
			return gone
		}
	}
	f.refuse("name", storeSays(err).Error())
	return s.itemFormPage(w, r, now, f, nil)
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

// versionOf is the version that the form was filled in over.
func versionOf(r *http.Request, id int64) (int64, error) {
	if id == 0 {
		return 0, nil
	}
	return number(r.PostForm.Get("version"), "the version")
}

// more repeats a part of a form once more.
func more(f *sheet, name string, adds []link) {
	if slices.ContainsFunc(adds, func(a link) bool { return a.To == name }) {
		f.q = url.Values(maps.Clone(f.q))
		f.q.Set(name, strconv.Itoa(min(f.rows(name, 1)+1, mostRows)))
	}
}

// itemLabels are the labels of the fields of an item's form.
func (s *server) itemLabels(r *http.Request, f *sheet) map[string]string {
	groups, err := s.itemForm(r.Context(), f)
	if err != nil {
		return nil
	}
	return labelsOf(groups)
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

// clashes lists the fields in which what is there now and what was typed are
// not the same.
func clashes(f *sheet, now, labels map[string]string) []clash {
	out := []clash{}
	for _, name := range slices.Sorted(maps.Keys(labels)) {
		if theirs, yours := now[name], f.typed(name); theirs != yours {
			out = append(out, clash{labels[name], orNothing(theirs), orNothing(yours)})
		}
	}
	return out
}

func orNothing(s string) string {
	if s == "" {
		return text("form.empty")
	}
	return s
}
