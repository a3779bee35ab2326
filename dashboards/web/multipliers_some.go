package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/logbook"
	"tautlog/ingest/store"
)

// someFields are the fields by which some pulls of the log are chosen. What was
// chosen is part of the name that the set has in an address, so that charts,
// files, checks and what is kept are of the same pulls.
var someFields = []string{"only-cell", "only-day", "only-from", "only-to", "by-item"}

// refAsked is the set that an address names; of the log, with what is chosen of it.
func refAsked(q url.Values) string {
	ref := q.Get("set")
	if ref != theLog {
		return ref
	}
	some := url.Values{}
	for _, name := range someFields {
		if t := strings.TrimSpace(q.Get(name)); t != "" {
			some.Set(name, t)
		}
	}
	if len(some) == 0 {
		return ref
	}
	return ref + "?" + some.Encode()
}

// someOf is the form by which some pulls of the log were chosen; nil where the
// name is not of some of the log.
func someOf(ref string) *sheet {
	asked, ok := strings.CutPrefix(ref, theLog+"?")
	if !ok {
		return nil
	}
	q, err := url.ParseQuery(asked)
	if err != nil {
		return nil
	}
	return newSheet(q)
}

// choice reads the form; what is wrong the sheet then says. said tells what is
// chosen.
func (s *server) choice(ctx context.Context, f *sheet) (c logbook.Choice, said []string, err error) {
	if name := f.typed("only-cell"); name != "" {
		cell, err := s.Store.CellByName(ctx, name)
		switch {
		case errors.Is(err, store.ErrNotFound):
			f.refuse("only-cell", text("some.nocell", name))
		case err != nil:
			return c, nil, err
		}
		c.Cell = cell.ID
		said = append(said, text("some.cell", name))
	}
	if c.Day = f.typed("only-day"); c.Day != "" {
		said = append(said, text("some.day", words.DateOf(c.Day)))
	}
	if c.From = s.momentTyped(f, "only-from"); c.From != 0 {
		said = append(said, text("some.from", s.at(c.From)))
	}
	if c.To = s.momentTyped(f, "only-to"); c.To != 0 {
		said = append(said, text("some.to", s.at(c.To)))
	}
	if c.From != 0 && c.To != 0 && c.To <= c.From {
		f.refuse("only-to", text("some.backwards"))
	}
	if c.ByItem = f.typed("by-item") != ""; c.ByItem {
		said = append(said, text("some.byitem"))
	}
	return c, said, nil
}

// momentTyped reads a moment, or a date, which is its first moment; 0 where none
// is typed.
func (s *server) momentTyped(f *sheet, name string) int64 {
	typed := f.typed(name)
	if typed == "" {
		return 0
	}
	at, err := unit.ParseMomentOrDay(typed, s.Zone)
	if err != nil {
		f.refuse(name, sentence(err.Error()))
		return 0
	}
	return at.UnixNano()
}

// ofSome tells what the pulls say that the form chooses. Where there are none the
// sheet says so.
func (s *server) ofSome(ctx context.Context, f *sheet) (t logbook.Told, words []string, err error) {
	c, words, err := s.choice(ctx, f)
	if err != nil || !f.good() {
		return t, words, err
	}
	if t, err = s.book.OfChoice(ctx, c); err == nil && t.Logged == 0 {
		first := slices.IndexFunc(someFields, func(name string) bool { return f.typed(name) != "" })
		f.refuse(someFields[max(first, 0)], text("some.none"))
	}
	return t, words, err
}

// someShown is what some pulls of the log say, for who asks by an address.
func (s *server) someShown(ctx context.Context, ref string, f *sheet) (v shownSet, err error) {
	v.Told, v.Some, err = s.ofSome(ctx, f)
	if err == nil && !f.good() {
		err = refuse(http.StatusBadRequest, strings.Join(f.all(), " "))
	}
	v.Kept, v.Ref, v.Log = v.Told.Kept, ref, true
	v.Name = text("multipliers.log.some")
	v.Told.Kept = v.Kept
	return v, err
}

// someForm is the form by which pulls are chosen, as it was filled in.
func (s *server) someForm(ctx context.Context, f *sheet) (group, error) {
	cells, err := s.Store.Cells(ctx)
	if err != nil {
		return group{}, err
	}
	any := []option{{Label: text("page.multipliers.check.any")}}
	for _, c := range cells {
		any = append(any, option{Value: c.Name, Label: c.Name})
	}
	days, err := s.Store.Days(ctx)
	if err != nil {
		return group{}, err
	}
	var names []string
	for _, d := range days[:min(len(days), mostSuggested)] {
		names = append(names, strings.TrimSpace(words.DateOf(d.Date)+" "+d.Name))
	}
	return group{Title: text("some.title"), More: true, Fields: f.set(
		entry{Name: "only-cell", Label: text("some.field.cell"), Choices: any},
		entry{Name: "only-day", Label: text("some.field.day"), Suggest: names, Hint: text("some.field.day.hint")},
		entry{Name: "only-from", Label: text("some.field.from"), Hint: text("some.field.from.hint")},
		entry{Name: "only-to", Label: text("some.field.to"), Hint: text("some.field.to.hint")},
		entry{Name: "by-item", Label: text("some.field.byitem"), Choices: []option{{Label: text("some.field.kind")}, {Value: "yes", Label: text("some.field.name")}}},
	)}, nil
}

// mostSuggested is how many test days a field suggests.
const mostSuggested = 100
