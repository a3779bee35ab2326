package web

import (
	"cmp"
	"net/http"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// rigForm is the form in which a rig is put together. What is there so far
// travels in the form itself, so that it works step by step without a script
// and nothing is kept before somebody says so.
type rigForm struct {
	Title, Action, Back string
	Version             int64
	Draft               string
	What                []group
	Put                 putForm
	Links               []linkView
	Fit                 rigFit
	Wrong               bool
	Unentered           bool // there is no rig yet: the page that enters everything at once is nearer
	Stale               *stale
	Who                 entry
	Token               string
}

// rigState is a form of a rig on its way through one request.
type rigState struct {
	doc     store.Document[rig.Rig] // as it is kept; its ID is 0 for a new one
	version int64                   // of what the form was begun with
	draft   rig.Rig                 // as it stands in the form
	f       *sheet
	found   []store.Document[gear.Item]
	said    string
	stale   *stale
}

// newRig begins a rig with nothing, or with what another one has.
func (s *server) newRig(w http.ResponseWriter, r *http.Request) error {
	st := rigState{f: newSheet(nil)}
	if from := r.URL.Query().Get("from"); from != "" {
		id, err := number(from, "a rig")
		if err != nil {
			return err
		}
		d, err := s.Store.Rig(r.Context(), id)
		if err != nil {
			return err
		}
		st.draft = d.Value
		st.draft.ID, st.draft.Name = "", ""
	}
	return s.rigFormPage(w, r, st)
}

func (s *server) editRig(w http.ResponseWriter, r *http.Request) error {
	d, err := s.rigAsked(r)
	if err != nil {
		return err
	}
	return s.rigFormPage(w, r, rigState{doc: d, version: d.Version, draft: d.Value, f: newSheet(nil)})
}

// rigSent reads which rig a form is of, and which version it was begun with.
func (s *server) rigSent(r *http.Request) (d store.Document[rig.Rig], version int64, err error) {
	if r.PathValue("id") == "" {
		return d, 0, nil
	}
	if d, err = s.rigAsked(r); err != nil {
		return d, 0, err
	}
	version, err = versionOf(r)
	return d, version, err
}

// stepRig takes a rig that is put together one step further: what was typed is
// read, then what the pressed button says is done.
func (s *server) stepRig(w http.ResponseWriter, r *http.Request) error {
	d, version, err := s.rigSent(r)
	if err != nil {
		return err
	}
	was, err := rig.DecodeDraft(strings.NewReader(r.PostForm.Get("draft")))
	if err != nil {
		return refuse(http.StatusBadRequest, text("refused.form"))
	}
	st := rigState{doc: d, version: version, draft: was, f: newSheet(r.PostForm)}
	next, err := s.readRig(r.Context(), st.f, was)
	if err != nil {
		return err
	}
	if !st.f.good() {
		return s.rigFormPage(w, r, st)
	}
	do, ref, _ := strings.Cut(st.f.typed("do"), ":")
	if (do == "" || do == "look") && st.f.typed("put-item") != "" {
		do = "put"
	}
	switch do {
	case "keep":
		return s.keepRig(w, r, st, next)
	case "text":
		typed, err := rigText(next)
		if err != nil {
			return err
		}
		d.Version = version
		return s.rigTextPage(w, r, d, newSheet(nil), typed, nil)
	case "put", "pick":
		return s.putStep(w, r, st, next)
	}
	if st.said, err = s.change1(r, do, ref, &next); err != nil {
		return err
	}
	st.f, st.draft = newSheet(nil), next
	return s.rigFormPage(w, r, st)
}

// putStep puts something into the chain and shows where it goes on.
func (s *server) putStep(w http.ResponseWriter, r *http.Request, st rigState, next rig.Rig) error {
	at, found, err := s.putIn(r, st.f, &next)
	if err != nil {
		return err
	}
	st.found = found
	if st.f.good() {
		st.draft, st.f = next, newSheet(nil)
		st.f.fill(map[string]string{"put-where": at.String()})
		st.said = text("rig.putin")
	}
	return s.rigFormPage(w, r, st)
}

// change1 does to a rig what a button beside one of its places says.
func (s *server) change1(r *http.Request, do, ref string, g *rig.Rig) (said string, err error) {
	at, ok := spotAt(ref)
	if strings.HasSuffix(ref, ".strap") {
		at, ok = spot{ref, 1}, true
	}
	d := draft{g}
	switch {
	case do == "today":
		*g, err = s.asRegistered(r.Context(), *g, &rigPage{Links: map[string]int64{}})
		return text("rig.today"), err
	case do == "out" && ok && d.take(at):
		return text("rig.tookout"), nil
	case do == "up" && ok && d.swap(spot{at.list, at.n - 1}), do == "down" && ok && d.swap(at):
		return text("rig.moved"), nil
	case do == "up", do == "down":
		return text("field.linkend"), nil
	}
	return "", nil
}

// keepRig keeps a rig as it stands in its form.
func (s *server) keepRig(w http.ResponseWriter, r *http.Request, st rigState, next rig.Rig) error {
	if st.f.typed("put-item") != "" {
		st.f.refuse("put-item", text("field.notput"))
	}
	e := s.rigKeeper(r, st.f, "name", next)
	e.show = func(d store.Document[rig.Rig], other *stale) error {
		if st.stale, st.version = other, d.Version; other != nil {
			st.draft, st.f = d.Value, newSheet(nil)
		}
		return s.rigFormPage(w, r, st)
	}
	return e.keep(s, w, r, st.f, st.doc.ID)
}

// rigKeeper keeps a rig, from the form or the text of it; show is the caller's.
// What is refused is said beside the field main.
func (s *server) rigKeeper(r *http.Request, f *sheet, main string, next rig.Rig) keeper[rig.Rig] {
	return keeper[rig.Rig]{
		who: s.changedBy("rig"), main: main, path: func(id int64) string { return pathOf("rigs", id) },
		read: s.Store.Rig, at: s.Store.RigAt, save: s.Store.SaveRig,
		over: func(rig.Rig) (rig.Rig, error) {
			if next.Name == "" {
				f.refuse(main, text("field.rigname"))
			}
			return next, nil
		},
		isNew: func(g rig.Rig) error { return s.freeRig(r, f, main, g.Name) },
		typed: func(g rig.Rig) map[string]string { return rigTyped(&g) }, labels: rigLabels,
	}
}

// freeRig refuses a new rig that would be written over another one.
func (s *server) freeRig(r *http.Request, f *sheet, main, name string) error {
	_, err := s.Store.RigByName(r.Context(), name)
	if err == nil {
		f.refuse(main, text("field.rigtaken", name))
	}
	return ignoreMissing(err)
}

// rigFormPage shows a rig as it stands in its form.
func (s *server) rigFormPage(w http.ResponseWriter, r *http.Request, st rigState) error {
	f, g := st.f, &st.draft
	if f.q == nil {
		f.fill(rigTyped(g))
	}
	if f.filled["put-where"] == "" {
		f.fill(map[string]string{"put-where": lastSpot(g).String()})
	}
	f.fill(map[string]string{"who": cmp.Or(r.PostForm.Get("who"), signature(r))})
	v := rigForm{Title: text("form.newrig"), Action: "/rigs/new", Back: "/rigs", Version: st.version, Wrong: !f.good(), Stale: st.stale, Token: s.tokenIn(r.Context())}
	if st.doc.ID != 0 {
		v.Title, v.Back = text("form.edit", st.doc.Value.Name), pathOf("rigs", st.doc.ID)
		v.Action = v.Back + "/edit"
	}
	rigs, err := s.Store.RigNames(r.Context())
	if err != nil {
		return err
	}
	v.Unentered = len(rigs) == 0
	if v.Draft, err = rigText(*g); err != nil {
		return err
	}
	if v.What, err = s.rigFields(r, f); err != nil {
		return err
	}
	if v.Put, err = s.putForm(r.Context(), g, f, len(st.found) == 0); err != nil {
		return err
	}
	v.Put.Said, v.Put.More = st.said, len(st.found) > mostFound
	for _, d := range st.found[:min(len(st.found), mostFound)] {
		v.Put.Found = append(v.Put.Found, itemView{Item: d.Value, Ref: d.ID, Rated: rated(d.Value, chosen(r).Unit)})
	}
	v.Links = linksOf(g, f, chosen(r).Unit)
	kept := rigPage{Links: map[string]int64{}}
	today, err := s.asRegistered(r.Context(), *g, &kept)
	if err != nil {
		return err
	}
	if v.Fit, err = s.fitOf(r.Context(), *g, today, kept.Links, "form-", chosen(r).Unit); err != nil {
		return err
	}
	if len(g.Chain) == 0 {
		v.Fit.Wrongs = nil // nobody has begun
	}
	v.Who = f.set(entry{Name: "who", Label: text("page.rig.form.who"), Hint: text("page.rig.form.who.hint")})[0]
	return s.showAs(w, r, formStatus(f, st.stale != nil), "rigform", v.Title, v)
}

// formStatus is the status that a form deserves as it is shown.
func formStatus(f *sheet, clash bool) int {
	switch {
	case clash:
		return http.StatusConflict
	case !f.good():
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

// rigFields lists the fields of a rig as a whole.
func (s *server) rigFields(r *http.Request, f *sheet) ([]group, error) {
	docs, err := s.Store.FindVehicles(r.Context(), store.Find{Limit: lookedThrough})
	if err != nil {
		return nil, err
	}
	var names []string
	for _, d := range docs {
		names = append(names, d.Value.Name)
	}
	return []group{{Title: text("page.rig.form.what-it-is"), Fields: f.set(
		entry{Name: "name", Label: text("page.rig.form.name"), Hint: text("page.rig.form.name.hint")},
		entry{Name: "pulling", Label: text("page.rig.form.pulling"), Hint: text("page.rig.form.pulling.hint"), Suggest: names},
		entry{Name: "stuck", Label: text("page.rig.form.stuck"), Hint: text("page.rig.form.stuck.hint"), Suggest: names},
	)}, {Title: text("page.rig.form.more"), More: true, Fields: f.set(
		entry{Name: "winch", Label: text("page.rig.form.winch"), Hint: text("page.rig.form.winch.hint"), Choices: []option{{Label: text("page.rig.form.end.unknown")}, {Value: string(rig.PullingEnd), Label: text("page.rig.form.end.pulling")}, {Value: string(rig.StuckEnd), Label: text("page.rig.form.end.stuck")}}},
		entry{Name: "id", Label: text("page.rig.form.id")},
		entry{Name: "notes", Label: text("page.rig.form.notes"), Area: true},
	)}}, nil
}

// rigLabels names the fields of versions of a rig, for where they differ.
func rigLabels(of ...rig.Rig) map[string]string {
	out := map[string]string{"name": text("page.rig.form.name.2"), "pulling": text("page.rig.form.pulling-end"), "stuck": text("page.rig.form.stuck-end"), "winch": text("page.rig.form.hauled-from"), "id": text("page.rig.form.number"), "notes": text("page.rig.form.notes")}
	words := map[string]string{"link": text("page.rig.form.what-it-is.choice"), "included": text("page.rig.form.angle.choice"), "equaliser": text("rig.field.equaliser"), "loss": text("page.rig.form.sheave-loss.choice"), "parts": text("page.rig.form.line-parts.2"), "item": text("rig.field.item"), "seat": text("page.rig.form.slot.choice"), "h": text("page.rig.form.to-the-side"), "v": text("page.rig.form.steep.choice"), "turn": text("rig.field.turn")}
	for _, g := range of {
		for name := range rigTyped(&g) {
			i := strings.LastIndexByte(name, '-')
			if i > 0 && words[name[i+1:]] != "" {
				out[name] = text("rig.place", strings.ReplaceAll(name[1:i], "-", ", "), words[name[i+1:]])
			}
		}
	}
	return out
}
