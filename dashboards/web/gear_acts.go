package web

import (
	"errors"
	"mime/multipart"
	"net/http"
	"strings"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/ingest/store"
)

// fillForms lists the small forms of an item's page.
func (s *server) fillForms(r *http.Request, v *itemPage, f *sheet) {
	who := signature(r)
	f.fill(map[string]string{"inspect-date": string(s.today()), "inspect-who": who, "quarantine-who": who, "release-who": who, "retire-who": who, "proof-date": string(s.today()), "proof-who": who})
	name := func(field string) entry {
		return entry{Name: field, Label: text("page.gear.acts.who"), Hint: text("page.gear.acts.journal.hint")}
	}
	v.Inspect = f.set(
		entry{Name: "inspect-date", Label: text("page.gear.acts.inspect-date"), Hint: text("page.gear.date.hint")},
		entry{Name: "inspect-who", Label: text("page.gear.acts.inspect-who"), Hint: text("page.gear.acts.inspect-who.hint")},
		entry{Name: "inspect-result", Label: text("page.gear.acts.inspect-result"), Choices: []option{{Label: text("page.gear.acts.choose")}, {Value: "in order", Label: text("page.gear.acts.in order")}, {Value: "watch", Label: text("page.gear.acts.watch")}, {Value: "unfit", Label: text("page.gear.acts.unfit")}}},
		entry{Name: "inspect-notes", Label: text("page.gear.acts.inspect-notes"), Area: true},
		entry{Name: "inspect-photo", Label: text("page.gear.acts.inspect-photo"), Hint: text("picture.hint"), Kind: "file"},
	)
	v.Proof = f.in(chosen(r).Unit).set(append(proofFields(), name("proof-who"))...)
	v.Quarantine = f.set(entry{Name: "quarantine-reason", Label: text("page.gear.acts.quarantine-reason"), Long: true, Hint: text("page.gear.acts.quarantine-reason.hint")}, name("quarantine-who"))
	v.Release = f.set(entry{Name: "release-reason", Label: text("page.gear.acts.release-reason"), Long: true, Hint: text("page.gear.acts.release-reason.hint")}, name("release-who"))
	v.Retire = f.set(entry{Name: "retire-reason", Label: text("page.gear.acts.retire-reason"), Long: true, Hint: text("page.gear.acts.retire-reason.hint")}, name("retire-who"))
}

// change reads an item, changes it and keeps it; where somebody else was
// faster it begins again with what is there now, so that both changes hold.
func (s *server) change(w http.ResponseWriter, r *http.Request, field string, id int64, f func(*gear.Item) error) error {
	ctx := s.signed(w, r, field)
	for tries := 0; ; tries++ {
		d, err := s.Store.Item(r.Context(), id)
		if err != nil {
			return err
		}
		if !d.Removed.IsZero() {
			return refuse(http.StatusConflict, text("refused.removed"))
		}
		if err := f(&d.Value); err != nil {
			return err
		}
		if _, err = s.Store.SaveItem(ctx, d); err == nil {
			http.Redirect(w, r, pathOf("gear", id), http.StatusSeeOther)
			return nil
		}
		if !errors.Is(err, store.ErrConflict) || tries == 5 {
			return storeSays(err)
		}
	}
}

// withdraw is what quarantine and retirement have in common: a form with a
// reason, refused beside its field.
func (s *server) withdraw(w http.ResponseWriter, r *http.Request, act string, f func(*gear.Item, string, string) string) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	form := newSheet(r.PostForm)
	reason := form.typed(act + "-reason")
	if reason == "" {
		form.refuse(act+"-reason", text("field.reason"))
		return s.showItem(w, r, d, form, nil)
	}
	var refused string
	errAsTyped := errors.New("web: to be shown as it was typed")
	err = s.change(w, r, act+"-who", d.ID, func(it *gear.Item) error {
		if refused = f(it, reason, form.typed(act+"-who")); refused != "" {
			return errAsTyped
		}
		return nil
	})
	if errors.Is(err, errAsTyped) {
		form.refuse(act+"-reason", refused)
		return s.showItem(w, r, d, form, nil)
	}
	return err
}

// quarantine takes an item out of use until somebody has looked.
func (s *server) quarantine(w http.ResponseWriter, r *http.Request) error {
	return s.withdraw(w, r, "quarantine", func(it *gear.Item, reason, who string) string {
		if it.Quarantined != nil {
			return text("field.already", life.Quarantined.Says(*it.Quarantined))
		}
		it.Quarantined = &gear.Withdrawal{Date: s.today(), Reason: reason, Who: who}
		return ""
	})
}

// release ends a quarantine, or a retirement. The reason stays in the notes.
func (s *server) release(w http.ResponseWriter, r *http.Request) error {
	return s.withdraw(w, r, "release", func(it *gear.Item, reason, who string) string {
		if it.Quarantined == nil && it.Retired == nil {
			return text("field.inuse")
		}
		it.Quarantined, it.Retired = nil, nil
		note := text("gear.released", s.today(), sentence(reason))
		if who != "" {
			note = text("gear.releasedby", s.today(), who, sentence(reason))
		}
		it.Notes = strings.TrimSpace(it.Notes + "\n" + note)
		return ""
	})
}

// retire takes an item out of use for good.
func (s *server) retire(w http.ResponseWriter, r *http.Request) error {
	return s.withdraw(w, r, "retire", func(it *gear.Item, reason, who string) string {
		if it.Retired != nil {
			return text("field.already", life.Retired.Says(*it.Retired))
		}
		it.Retired = &gear.Withdrawal{Date: s.today(), Reason: reason, Who: who}
		return ""
	})
}

// mostPictures is how many pictures one form may bring, and maxUpload the
// bytes of the whole of it.
const (
	mostPictures = 4
	maxUpload    = mostPictures*store.MaxAttachment + maxBody
)

// inspect adds an inspection with its pictures.
func (s *server) inspect(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	i := readInspection(f)
	kept, err := s.attach(r, f, "inspect-photo", "inspect-kept")
	if err != nil {
		return err
	}
	if !f.good() {
		return s.showItem(w, r, d, f, kept)
	}
	i.Photos = kept
	return s.change(w, r, "inspect-who", d.ID, func(it *gear.Item) error {
		it.Inspections = append(it.Inspections, i)
		return nil
	})
}

func readInspection(f *sheet) gear.Inspection {
	i := gear.Inspection{Date: gear.Date(f.typed("inspect-date")), Who: f.typed("inspect-who"), Notes: f.typed("inspect-notes")}
	if !i.Date.Known() {
		f.refuse("inspect-date", text("field.date", i.Date))
	}
	if err := i.Result.UnmarshalText([]byte(f.typed("inspect-result"))); err != nil {
		f.refuse("inspect-result", text("field.result"))
	}
	return i
}

// attach keeps the pictures of a field, and gives them with those that came
// with the same form when it was refused, in another field.
func (s *server) attach(r *http.Request, f *sheet, field, before string) ([]string, error) {
	kept := append([]string{}, r.PostForm[before]...)
	if r.MultipartForm == nil {
		return kept, nil
	}
	for _, h := range r.MultipartForm.File[field] {
		if h.Size == 0 && h.Filename == "" {
			continue
		}
		a, err := s.attachOne(r, h)
		if errors.Is(err, store.ErrInvalid) {
			f.refuse(field, text("field.picture", h.Filename, store.MaxAttachment>>20))
			continue
		}
		if err != nil {
			return nil, err
		}
		kept = append(kept, a.Ref())
	}
	return kept, nil
}

func (s *server) attachOne(r *http.Request, h *multipart.FileHeader) (store.Attachment, error) {
	file, err := h.Open()
	if err != nil {
		return store.Attachment{}, err
	}
	defer func() { _ = file.Close() }()
	return s.Store.Attach(r.Context(), file)
}
