package web

import (
	"bytes"
	"cmp"
	"errors"
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
	Theirs              string   // the rig as somebody else left it meanwhile
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
	return s.rigTextPage(w, r, d, newSheet(nil), t, "")
}

func (s *server) rigTextPage(w http.ResponseWriter, r *http.Request, d store.Document[rig.Rig], f *sheet, typed, theirs string) error {
	v := rigTextForm{Title: text("form.newrig"), Action: "/rigs/new/text", Back: "/rigs", Version: d.Version, Wrong: !f.good(), Theirs: theirs, Text: typed, TextSay: f.wrong["rig"], Token: s.tokenIn(r.Context())}
	if d.ID != 0 {
		v.Title, v.Back = text("form.edit", d.Value.Name), pathOf("rigs", d.ID)
		v.Action = v.Back + "/text"
	}
	if g, err := rig.DecodeDraft(strings.NewReader(typed)); err == nil {
		v.Says = wrongsOf(g)
	}
	f.fill(map[string]string{"who": cmp.Or(r.PostForm.Get("who"), signature(r))})
	v.Who = f.set(entry{Name: "who", Label: "Who", Hint: "goes into the journal"})[0]
	return s.showAs(w, r, formStatus(f, theirs != ""), "rigtext", v.Title, v)
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
	switch {
	case err != nil:
		f.refuse("rig", sentence(err.Error()))
	case f.typed("do") == "form":
		return s.rigFormPage(w, r, rigState{doc: d, version: version, draft: g, f: newSheet(nil)})
	case g.Name == "":
		f.refuse("rig", text("field.rigname"))
	}
	if f.good() && version != d.Version {
		theirs, err := rigText(d.Value)
		if err != nil {
			return err
		}
		return s.rigTextPage(w, r, d, f, typed, theirs)
	}
	if f.good() && d.ID == 0 {
		taken := newSheet(nil)
		if err := s.freeRig(r, taken, g.Name); err != nil {
			return err
		}
		if !taken.good() {
			f.refuse("rig", taken.wrong["name"])
		}
	}
	if !f.good() {
		d.Version = version
		return s.rigTextPage(w, r, d, f, typed, "")
	}
	kept, err := s.Store.SaveRig(s.signed(w, r, "who"), store.Document[rig.Rig]{ID: d.ID, Version: d.Version, Value: g})
	if errors.Is(err, store.ErrConflict) || errors.Is(err, store.ErrInvalid) {
		f.refuse("rig", storeSays(err).Error())
		return s.rigTextPage(w, r, d, f, typed, "")
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, pathOf("rigs", kept.ID), http.StatusSeeOther)
	return nil
}
