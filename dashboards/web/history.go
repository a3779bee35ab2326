package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// shownChanges is how many changes of the journal the page of a document shows.
const shownChanges = 20

// changeView is a line of the journal, told.
type changeView struct {
	ID   int64
	When string
	Who  string
	Says string // what was changed, one after the other
	Undo bool   // nothing newer stands on it, so that it can be undone
	Back bool   // something does, but what it was before can be brought back
}

// journalView is the journal of one document.
type journalView struct {
	Path    string // of the document: "/gear/7"
	Version int64
	Removed string // when it was removed; empty where it is there
	Changes []changeView
	Token   string
}

// journalOf tells the latest changes of a document.
func (s *server) journalOf(r *http.Request, what, path string, ref, version int64) (journalView, error) {
	ctx, u := r.Context(), chosen(r).Unit
	v := journalView{Path: path, Version: version, Token: s.tokenIn(ctx)}
	changes, err := s.Store.Changes(ctx, store.JournalFilter{What: what, Ref: ref, Limit: shownChanges})
	if err != nil {
		return v, err
	}
	for _, c := range changes {
		v.Changes = append(v.Changes, changeView{c.ID, s.at(c.At.UnixNano()), c.Who, strings.Join(changed(c, u), "; "), c.Latest, !c.Latest && c.Before != nil && c.After != nil})
	}
	return v, nil
}

// changed says what a change made of a document. Forces are told in u.
func changed(c store.Change, u unit.ForceUnit) []string {
	switch {
	case len(c.After) == 0:
		return []string{text("journal.removed")}
	case len(c.Before) == 0:
		return []string{text("journal.made")}
	}
	return Differences(c.What, c.Before, c.After, u)
}

// shelves are the lists of documents by their part of an address, with what
// the store calls one of them.
var shelves = map[string]string{"gear": "item", "vehicles": "vehicle", "rigs": "rig", "pulls": "pull", "days": "day"}

// remove takes a document out of its list.
func (s *server) remove(w http.ResponseWriter, r *http.Request) error {
	what, id, err := s.document(r)
	if err != nil {
		return err
	}
	version, err := number(r.PostForm.Get("version"), text("page.history.the-version"))
	if err != nil {
		return err
	}
	if err := s.Store.Remove(s.signed(w, r, "who"), what, id, version); err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, r.URL.Path[:strings.LastIndex(r.URL.Path, "/")], http.StatusSeeOther)
	return nil
}

// undo takes back a change of a document or a pull, as a change of its own.
func (s *server) undo(w http.ResponseWriter, r *http.Request) error {
	what, id, err := s.document(r)
	if err != nil {
		return err
	}
	change, err := number(r.PostForm.Get("change"), text("page.history.the-change"))
	if err != nil {
		return err
	}
	mine, err := s.Store.Changes(r.Context(), store.JournalFilter{What: what, Ref: id, Before: change + 1, Limit: 1})
	if err != nil {
		return err
	}
	if len(mine) == 0 || mine[0].ID != change {
		return refuse(http.StatusNotFound, text("refused.nochange"))
	}
	ctx := s.signed(w, r, "who")
	if mine[0].Latest || what == "pull" { // of a pull, what was measured since stands beside an edit
		_, err = s.Store.Undo(ctx, change)
	} else {
		err = s.bringBack(ctx, r, mine[0])
	}
	if err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, r.URL.Path[:strings.LastIndex(r.URL.Path, "/")], http.StatusSeeOther)
	return nil
}

// bringBack makes of a document what it was before a change on which newer ones
// stand. Those stay in the journal.
func (s *server) bringBack(ctx context.Context, r *http.Request, c store.Change) error {
	version, err := number(r.PostForm.Get("version"), text("page.history.the-version"))
	if err != nil {
		return err
	}
	if c.Before == nil {
		return refuse(http.StatusNotFound, text("refused.nochange"))
	}
	switch c.What {
	case "item":
		return saveAs(ctx, c, version, s.Store.SaveItem)
	case "vehicle":
		return saveAs(ctx, c, version, s.Store.SaveVehicle)
	case "day":
		return saveAs(ctx, c, version, s.saveDayOver)
	}
	return saveAs(ctx, c, version, s.Store.SaveRig)
}

// saveAs saves what a document was before a change over the version that was
// looked at.
func saveAs[T any](ctx context.Context, c store.Change, version int64, save func(context.Context, store.Document[T]) (store.Document[T], error)) error {
	d := store.Document[T]{ID: c.Ref, Version: version}
	if err := json.Unmarshal(c.Before, &d.Value); err != nil {
		return err
	}
	_, err := save(ctx, d)
	return err
}

// document reads from an address like /gear/7/undo which document is meant,
// and the form that was sent to it.
func (s *server) document(r *http.Request) (what string, id int64, err error) {
	list, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	id, err = number(r.PathValue("id"), text("page.history.the."+shelves[list]))
	return shelves[list], id, err
}

// storeSays makes an answer for people of what the store refused.
func storeSays(err error) error {
	switch {
	case errors.Is(err, store.ErrInvalid), errors.Is(err, store.ErrConflict), errors.Is(err, store.ErrLimits):
		return refuse(http.StatusConflict, text("refused.store", sentence(cause(err))))
	}
	return err
}

// cause is why the store refused something.
func cause(err error) string {
	if r, ok := errors.AsType[*store.Refusal](err); ok {
		return r.Why.Error()
	}
	if kind, ok := errors.AsType[words.Kind](err); ok { // the reason is all that there is
		return kind.Error()
	}
	return err.Error()
}

// limitsSay says why limits cannot be set.
func limitsSay(err error) string { return text("limits.refused", cause(err)) }

// signed gives the context of a change. Whoever sits at this machine is
// entered in the journal under the name in a field of the form, which is kept
// for the next form; whoever signed in, under their own.
func (s *server) signed(w http.ResponseWriter, r *http.Request, field string) context.Context {
	who := cut(strings.TrimSpace(r.PostForm.Get(field)), 80)
	if who == "" || !visitorOf(r.Context()).Here {
		return r.Context()
	}
	http.SetCookie(w, &http.Cookie{
		Name: "who", Value: url.QueryEscape(who), Path: "/", MaxAge: 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	return store.WithWho(r.Context(), who)
}

// signature is what a field for a name begins with: who signed in, or who
// changed something with this browser last.
func signature(r *http.Request) string {
	if v := visitorOf(r.Context()); v.Name != editor {
		return v.Name
	}
	return ""
}

// cut is s, shortened to n characters.
func cut(s string, n int) string {
	if runes := []rune(s); len(runes) > n {
		return string(runes[:n])
	}
	return s
}

func pathOf(list string, id int64) string { return "/" + list + "/" + strconv.FormatInt(id, 10) }
