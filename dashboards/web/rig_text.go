package web

import (
	"bytes"
	"cmp"
	"net/http"
	"strings"

	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// rigTextForm is a rig as the text of a rig file, the second way to edit it.
type rigTextForm struct {
	Title, Action, Back string
	Version             int64
	Wrong               bool
	Says                []string // what cannot be judged yet; it is no error of the text
	Stale               *stale
	Text                string
	TextSay             string
	Who                 entry
	Token               string
}

func rigText(g rig.Rig) (string, error) {
	var b bytes.Buffer
	err := rig.Encode(&b, g)
	return b.String(), err
}

// textOfRig shows a rig as text.
func (s *server) textOfRig(w http.ResponseWriter, r *http.Request) error {
	d, err := s.rigAsked(r)
	if err != nil {
		return err
	}
	t, err := rigText(d.Value)
	if err != nil {
		return err
	}
	return s.rigTextPage(w, r, d, newSheet(nil), t, nil)
}

func (s *server) rigTextPage(w http.ResponseWriter, r *http.Request, d store.Document[rig.Rig], f *sheet, typed string, st *stale) error {
	v := rigTextForm{Title: text("form.newrig"), Action: "/rigs/new/text", Back: "/rigs", Version: d.Version, Wrong: !f.good(), Stale: st, Text: typed, TextSay: f.wrong["rig"], Token: s.tokenIn(r.Context())}
	if d.ID != 0 {
		v.Title, v.Back = text("form.edit", d.Value.Name), pathOf("rigs", d.ID)
		v.Action = v.Back + "/text"
	}
	if g, err := rig.DecodeDraft(strings.NewReader(typed)); err == nil {
		v.Says = wrongsOf(g)
	}
	f.fill(map[string]string{"who": cmp.Or(r.PostForm.Get("who"), signature(r))})
	v.Who = f.set(entry{Name: "who", Label: text("page.rig.text.who"), Hint: text("page.rig.text.who.hint")})[0]
	return s.showAs(w, r, formStatus(f, st != nil), "rigtext", v.Title, v)
}

// saveRigText keeps a rig as it was typed, or goes on with it in the form.
func (s *server) saveRigText(w http.ResponseWriter, r *http.Request) error {
	d, version, err := s.rigSent(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	typed := f.typed("rig")
	g, err := rig.DecodeDraft(strings.NewReader(typed))
	if err != nil {
		f.refuse("rig", sentence(err.Error()))
		d.Version = version
		return s.rigTextPage(w, r, d, f, typed, nil)
	}
	if f.typed("do") == "form" {
		return s.rigFormPage(w, r, rigState{doc: d, version: version, draft: g, f: newSheet(nil)})
	}
	e := s.rigKeeper(r, f, "rig", g)
	e.show = func(d store.Document[rig.Rig], st *stale) error {
		if st != nil {
			if typed, err = rigText(d.Value); err != nil {
				return err
			}
		}
		return s.rigTextPage(w, r, d, f, typed, st)
	}
	return e.keep(s, w, r, f, d.ID)
}
