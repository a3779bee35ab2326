package web

import (
	"context"
	"fmt"
	"net/http"

	"tautlog/ingest/store"
)

// dayEditRoutes are the pages on which a test day is put right.
func (s *server) dayEditRoutes() []route {
	return []route{
		reads("GET /days/{date}/day/{id}", s.editDay).toOperators(),
		writes("POST /days/{date}/day/{id}", s.saveDay),
		writes("POST /days/{date}/day/{id}/undo", s.undo),
		writes("POST /days/{date}/day/{id}/remove", s.remove),
	}
}

func dayPath(d store.Day) string { return fmt.Sprintf("/days/%s/day/%d", d.Date, d.ID) }

// dayAsked is the test day of an address, which is under its date.
func (s *server) dayAsked(r *http.Request) (store.Day, error) {
	id, err := number(r.PathValue("id"), text("page.days.edit.a-test-day"))
	if err != nil {
		return store.Day{}, err
	}
	d, err := s.Store.Day(r.Context(), id)
	if err == nil && d.Date != r.PathValue("date") {
		return d, notHere()
	}
	return d, err
}

func (s *server) editDay(w http.ResponseWriter, r *http.Request) error {
	d, err := s.dayAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(nil)
	f.fill(dayTyped(d))
	return s.dayFormPage(w, r, d, f, nil)
}

func (s *server) dayFormPage(w http.ResponseWriter, r *http.Request, d store.Day, f *sheet, st *stale) error {
	j, err := s.journalOf(r, "day", dayPath(d), d.ID, d.Version)
	if err != nil {
		return err
	}
	if !d.Removed.IsZero() {
		j.Removed = s.at(d.Removed.UnixNano())
	}
	groups := dayForm(f)
	return s.showForm(w, r, formPage{
		Title: text("form.edit", d.Name), Action: dayPath(d), Back: "/days/" + d.Date, Version: d.Version, Groups: groups, Wrongs: f.wrongs(groups),
		Stale: st, Journal: &j, Token: s.tokenIn(r.Context()),
	}, f)
}

func dayForm(f *sheet) []group {
	return []group{{Title: text("days.what"), Fields: f.set(
		entry{Name: "name", Label: text("page.days.edit.name"), Hint: text("page.days.edit.name.hint")},
		entry{Name: "place", Label: text("page.days.edit.place")},
		entry{Name: "ground", Label: text("page.days.edit.ground"), Hint: text("page.days.edit.ground.hint"), Suggest: commonGrounds()},
	)}}
}

func dayTyped(d store.Day) map[string]string {
	return map[string]string{"name": d.Name, "place": d.Place, "ground": d.Ground}
}

// saveDay keeps a test day as it was typed. Its date stays: that is when it was
// held.
func (s *server) saveDay(w http.ResponseWriter, r *http.Request) error {
	asked, err := s.dayAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	return keeper[store.Day]{
		who: s.changedBy("day"), main: "name", path: func(int64) string { return "/days/" + asked.Date },
		read: func(ctx context.Context, id int64) (store.Document[store.Day], error) {
			return dayDocument(s.Store.Day(ctx, id))
		},
		at: s.Store.DayAt, save: s.saveDayOver,
		over: func(was store.Day) (store.Day, error) {
			was.Name, was.Place, was.Ground = f.typed("name"), f.typed("place"), f.typed("ground")
			if was.Name == "" {
				f.refuse("name", text("refused.dayname"))
			}
			return was, nil
		},
		typed: dayTyped, labels: func(...store.Day) map[string]string { return labelsOf(dayForm(newSheet(nil))) },
		show: func(d store.Document[store.Day], st *stale) error {
			day := d.Value
			day.ID, day.Date, day.Version, day.Removed = asked.ID, asked.Date, d.Version, d.Removed
			return s.dayFormPage(w, r, day, f, st)
		},
	}.keep(s, w, r, f, asked.ID)
}

func dayDocument(d store.Day, err error) (store.Document[store.Day], error) {
	return store.Document[store.Day]{ID: d.ID, Version: d.Version, Removed: d.Removed, Value: d}, err
}

// saveDayOver saves a test day over the version of its document.
func (s *server) saveDayOver(ctx context.Context, d store.Document[store.Day]) (store.Document[store.Day], error) {
	d.Value.ID, d.Value.Version = d.ID, d.Version
	return dayDocument(s.Store.SaveDay(ctx, d.Value))
}
