package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"

	"tautlog/ingest/store"
)

// stale is what somebody else made of a document while a form was filled in.
type stale struct {
	Who     []string // each change, by whom and when
	Removed bool     // it is not in its list any more
	Rows    []clash
}

// clash is a field that somebody else changed while this form was filled in.
type clash struct {
	Label, Was, Theirs, Yours string
	Taken                     bool // theirs stands in the form, because this one did not touch it
}

// keeper is how documents of one kind are changed with a form. All forms of
// what two people may change at once go through keep, so that there is one
// way in which nothing is lost: a form is sent with the version that it was
// begun with, and is kept over that version only. Where somebody else was
// faster it comes back with what was typed, what they changed, and their
// version, so that sending it again is meant.
type keeper[T any] struct {
	// who tells who changed it between two versions.
	who  func(ctx context.Context, id, begun, now int64) ([]string, error)
	read func(ctx context.Context, id int64) (store.Document[T], error)
	at   func(ctx context.Context, id, version int64) (T, error)
	save func(ctx context.Context, d store.Document[T]) (store.Document[T], error)
	// over reads the form over the document that it was shown with.
	over func(was T) (T, error)
	// isNew refuses in the form what makes a new document impossible; nil
	// where forms make none.
	isNew func(T) error
	// typed is a document as it would be typed; labels name the fields of
	// some documents.
	typed  func(T) map[string]string
	labels func(...T) map[string]string
	// show shows the form again, refused or with what somebody else changed. Its
	// document is in the version that it was begun with, or with st in that of now,
	// with what is to stand in the form.
	show func(d store.Document[T], st *stale) error
	main string // the field beside which the store's refusals are said
	path func(id int64) string
}

// mostTries bounds how often a form is kept anew over what others kept in that
// moment.
const mostTries = 20

// keep keeps what was typed into a form over the version that it was begun
// with.
func (e keeper[T]) keep(s *server, w http.ResponseWriter, r *http.Request, f *sheet, id int64) error {
	begun, err := e.begun(r, id)
	if err != nil {
		return err
	}
	yours, err := e.over(begun.Value)
	if err == nil && id == 0 && e.isNew != nil {
		err = e.isNew(yours)
	}
	if err != nil {
		return err
	}
	if !f.good() {
		return e.show(begun, nil)
	}
	ctx := s.signed(w, r, "who")
	for range mostTries {
		now, st, err := e.meanwhile(r, begun, yours)
		if err != nil {
			return err
		}
		if st != nil {
			e.refill(f, yours, now.Value)
			return e.show(now, st)
		}
		kept, err := e.save(ctx, now)
		switch {
		case err == nil:
			http.Redirect(w, r, e.path(kept.ID), http.StatusSeeOther)
			return nil
		case errors.Is(err, store.ErrConflict) && id != 0 && e.movedOn(r.Context(), now):
			continue
		case errors.Is(err, store.ErrLimits):
			f.refuse(e.main, limitsSay(err))
			return e.show(begun, nil)
		case errors.Is(err, store.ErrConflict), errors.Is(err, store.ErrInvalid):
			f.refuse(e.main, storeSays(err).Error())
			return e.show(begun, nil)
		}
		return err
	}
	return store.ErrConflict
}

// begun is the document that the form was shown with, as far as the journal
// knows it.
func (e keeper[T]) begun(r *http.Request, id int64) (d store.Document[T], err error) {
	if id == 0 {
		return d, nil
	}
	version, err := versionOf(r)
	if err != nil {
		return d, err
	}
	if d, err = e.read(r.Context(), id); err != nil || d.Version == version {
		return d, err
	}
	d.Version = version
	d.Value, err = e.at(r.Context(), id, version)
	return d, ignoreMissing(err)
}

// versionOf is the version that the form was filled in over.
func versionOf(r *http.Request) (int64, error) {
	return number(r.PostForm.Get("version"), text("page.stale.the-version"))
}

// meanwhile is what has to be saved over what is there now; with a stale where
// somebody has to look at it first.
func (e keeper[T]) meanwhile(r *http.Request, begun store.Document[T], yours T) (now store.Document[T], st *stale, err error) {
	if begun.ID == 0 {
		return store.Document[T]{Version: store.New, Value: yours}, nil, nil
	}
	if now, err = e.read(r.Context(), begun.ID); err != nil {
		return now, nil, err
	}
	theirs, latest := now.Value, now.Version
	if now.Value, err = merged(begun.Value, theirs, yours); err != nil {
		return now, nil, err
	}
	if !now.Removed.IsZero() {
		st = &stale{Removed: true}
		now.Version, now.Value = begun.Version, yours
	} else if rows := e.clashes(begun.Value, theirs, yours, now.Value); now.Version != begun.Version && len(rows) > 0 {
		st = &stale{Rows: rows}
	}
	if st != nil {
		st.Who, err = e.who(r.Context(), begun.ID, begun.Version, latest)
	}
	return now, st, err
}

// movedOn tells whether a document has another version by now.
func (e keeper[T]) movedOn(ctx context.Context, d store.Document[T]) bool {
	now, err := e.read(ctx, d.ID)
	return err == nil && now.Version != d.Version
}

// merged is theirs with what differs between begun and yours, key by key of
// what is stored: a list or a part counts as one.
func merged[T any](begun, theirs, yours T) (out T, err error) {
	var of [3]map[string]json.RawMessage
	for i, v := range []T{begun, theirs, yours} {
		doc, err := json.Marshal(v)
		if err != nil {
			return out, err
		}
		if err := json.Unmarshal(doc, &of[i]); err != nil {
			return out, err
		}
	}
	was, now, typed := of[0], of[1], of[2]
	for _, k := range union(was, typed) {
		v, there := typed[k]
		switch {
		case bytes.Equal(was[k], v):
		case there:
			now[k] = v
		default:
			delete(now, k)
		}
	}
	doc, err := json.Marshal(now)
	if err != nil {
		return out, err
	}
	return out, json.Unmarshal(doc, &out)
}

// union lists the keys of some maps, sorted.
func union[V any](maps1 ...map[string]V) []string {
	all := map[string]bool{}
	for _, m := range maps1 {
		for k := range m {
			all[k] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// clashes lists the fields that somebody else changed to something else than
// what was typed.
func (e keeper[T]) clashes(begun, theirs, yours, stands T) (out []clash) {
	was, now, typed, in := e.typed(begun), e.typed(theirs), e.typed(yours), e.typed(stands)
	labels := e.labels(theirs, yours, begun)
	for _, n := range slices.Sorted(maps.Keys(labels)) {
		if now[n] != was[n] && now[n] != typed[n] {
			out = append(out, clash{labels[n], orNothing(was[n]), orNothing(now[n]), orNothing(typed[n]), in[n] == now[n]})
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

// refill puts into the form what is to stand there. Fields that stay are left
// word for word as they were typed.
func (e keeper[T]) refill(f *sheet, yours, stands T) {
	typed, now := e.typed(yours), e.typed(stands)
	q := url.Values(maps.Clone(f.q))
	for _, n := range union(typed, now) {
		if typed[n] != now[n] {
			q.Set(n, now[n])
		}
	}
	f.q = q
}

// changedBy tells who changed a document of the journal between two versions,
// the latest first: each change is one.
func (s *server) changedBy(what string) func(ctx context.Context, id, begun, now int64) ([]string, error) {
	return func(ctx context.Context, id, begun, now int64) (out []string, err error) {
		n := int(min(max(1, now-begun), shownChanges))
		changes, err := s.Store.Changes(ctx, store.JournalFilter{What: what, Ref: id, Limit: n})
		for _, c := range changes {
			out = append(out, s.changeBy(c))
		}
		return out, err
	}
}

func (s *server) changeBy(c store.Change) string {
	return text("stale.who", c.Who, s.at(c.At.UnixNano()))
}
