package web

import (
	"bytes"
	"errors"
	"net/http"
	"slices"
	"strings"

	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// rigForm is the form in which a rig is edited: its links by pickers, or the
// whole of it as text.
type rigForm struct {
	Ref     int64
	Name    string
	Version int64
	Wrong   bool
	Says    []string // what cannot be judged yet; it is no error of the text
	Theirs  string   // the rig as somebody else left it meanwhile
	Text    string
	TextSay string
	Pick    []entry
	Who     entry
	Token   string
}

func (s *server) editRig(w http.ResponseWriter, r *http.Request) error {
	d, err := s.rigAsked(r)
	if err != nil {
		return err
	}
	t, err := rigText(d.Value)
	if err != nil {
		return err
	}
	return s.rigFormPage(w, r, d, newSheet(nil), t, "")
}

func rigText(g rig.Rig) (string, error) {
	var b bytes.Buffer
	err := rig.Encode(&b, g)
	return b.String(), err
}

// acts are what can be done to the chain by pickers.
var acts = []option{
	{Value: "", Label: "only the text below"}, {Value: "add", Label: "put an item in before a link"}, {Value: "end", Label: "put an item in at the stuck end"},
	{Value: "replace", Label: "put an item in place of a link’s"}, {Value: "remove", Label: "take a link out"}, {Value: "up", Label: "move a link towards the pulling end"}, {Value: "down", Label: "move a link towards the stuck end"},
	{Value: "register", Label: "take all items as the register has them today"}, {Value: "copy", Label: "keep it as another rig, under the name below"},
}

func (s *server) rigFormPage(w http.ResponseWriter, r *http.Request, d store.Document[rig.Rig], f *sheet, typed, theirs string) error {
	v := rigForm{Ref: d.ID, Name: d.Value.Name, Version: d.Version, Wrong: !f.good(), Says: wrongsOf(d.Value), Theirs: theirs, Text: typed, TextSay: f.wrong["rig"], Token: s.token}
	links := []option{{Label: "choose"}}
	for i, l := range d.Value.Chain {
		links = append(links, option{Value: plainNumber(float64(i + 1)), Label: plainNumber(float64(i+1)) + ": " + linkWords(l)})
	}
	f.fill(map[string]string{"who": signature(r)})
	v.Pick = f.set(
		entry{Name: "act", Label: "Do", Choices: acts}, entry{Name: "link", Label: "Link", Choices: links},
		entry{Name: "item", Label: "Item of the register", Hint: "its number or name, letter by letter", Long: true},
		entry{Name: "copy-name", Label: "Name of the copy"},
	)
	v.Who = f.set(entry{Name: "who", Label: "Who", Hint: "goes into the journal"})[0]
	status := http.StatusOK
	switch {
	case theirs != "":
		status = http.StatusConflict
	case v.Wrong:
		status = http.StatusUnprocessableEntity
	}
	return s.showAs(w, r, status, "rigform", text("form.edit", d.Value.Name), v)
}

func linkWords(l rig.Link) string {
	names := []string{}
	for _, us := range usesOf(&l) {
		for _, u := range us {
			names = append(names, u.Item.Name)
		}
	}
	say := strings.Join(names, ", ")
	switch {
	case l.Bridle != nil:
		say = "bridle of " + say
	case l.Redirect != nil:
		say = "redirect at " + say
	case l.Tackle != nil:
		say = "tackle of " + say
	}
	return say
}

// saveRig keeps a rig as it was typed, after what was picked was done to it.
func (s *server) saveRig(w http.ResponseWriter, r *http.Request) error {
	if err := s.form(r); err != nil {
		return err
	}
	d, err := s.rigAsked(r)
	if err != nil {
		return err
	}
	version, err := number(r.PostForm.Get("version"), "the version")
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	typed := f.typed("rig")
	g, err := rig.DecodeDraft(strings.NewReader(typed))
	if err != nil {
		f.refuse("rig", sentence(err.Error()))
	}
	if version != d.Version {
		theirs, err := rigText(d.Value)
		if err != nil {
			return err
		}
		return s.rigFormPage(w, r, d, f, typed, theirs)
	}
	next := d
	if f.good() {
		next.Value = g
		if err := s.act(r, f, &next); err != nil {
			return err
		}
	}
	if !f.good() {
		return s.rigFormPage(w, r, d, f, typed, "")
	}
	return s.keepRig(w, r, f, d, next, typed)
}

func (s *server) keepRig(w http.ResponseWriter, r *http.Request, f *sheet, d, next store.Document[rig.Rig], typed string) error {
	kept, err := s.Store.SaveRig(s.signed(w, r, "who"), next)
	if errors.Is(err, store.ErrConflict) || errors.Is(err, store.ErrInvalid) {
		f.refuse("rig", storeSays(err).Error())
		return s.rigFormPage(w, r, d, f, typed, "")
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, pathOf("rigs", kept.ID)+"/edit", http.StatusSeeOther)
	return nil
}

// act does to a rig what was picked.
func (s *server) act(r *http.Request, f *sheet, d *store.Document[rig.Rig]) error {
	g := &d.Value
	act := f.typed("act")
	at := -1
	if slices.Contains([]string{"add", "replace", "remove", "up", "down"}, act) {
		if at = f.count("link", 1, len(g.Chain), 0) - 1; at < 0 {
			f.refuse("link", text("field.link"))
			return nil
		}
	}
	switch act {
	case "add", "end", "replace":
		return s.putIn(r, f, g, act, at)
	case "remove":
		g.Chain = slices.Delete(g.Chain, at, at+1)
	case "up", "down":
		to := at + map[string]int{"up": -1, "down": 1}[act]
		if to < 0 || to == len(g.Chain) {
			f.refuse("link", text("field.linkend"))
			return nil
		}
		g.Chain[at], g.Chain[to] = g.Chain[to], g.Chain[at]
	case "register":
		today, err := s.asRegistered(r.Context(), *g, &rigPage{Links: map[string]int64{}})
		*g = today
		return err
	case "copy":
		return s.copyRig(r, f, d)
	}
	return nil
}

// putIn puts an item of the register into the chain.
func (s *server) putIn(r *http.Request, f *sheet, g *rig.Rig, act string, at int) error {
	item, err := s.Store.ItemByKey(r.Context(), f.typed("item"))
	if errorsIsNotFound(err) {
		docs, err := s.Store.FindItems(r.Context(), store.Find{Text: f.typed("item"), Limit: 2})
		if err != nil {
			return err
		}
		if len(docs) != 1 || f.typed("item") == "" {
			f.refuse("item", text("field.item", f.typed("item")))
			return nil
		}
		item = docs[0]
	} else if err != nil {
		return err
	}
	switch {
	case act == "end":
		g.Chain = append(g.Chain, rig.InLine(item.Value))
	case act == "add":
		g.Chain = slices.Insert(g.Chain, at, rig.InLine(item.Value))
	case g.Chain[at].Use == nil:
		f.refuse("link", text("field.linkitem"))
	default:
		g.Chain[at].Use.Item = item.Value
	}
	return nil
}

// copyRig makes another rig of one, under a name that is free.
func (s *server) copyRig(r *http.Request, f *sheet, d *store.Document[rig.Rig]) error {
	name := f.typed("copy-name")
	if name == "" {
		f.refuse("copy-name", text("field.copyname"))
		return nil
	}
	_, err := s.Store.RigByName(r.Context(), name)
	if err == nil {
		f.refuse("copy-name", text("field.rigtaken", name))
	}
	d.ID, d.Version = 0, 0
	d.Value.ID, d.Value.Name = "", name
	return ignoreMissing(err)
}
