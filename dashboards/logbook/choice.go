package logbook

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// Choice is some pulls of the log, and how a fit is to class them. The zero value
// is all of them, by the kind of their straps.
type Choice struct {
	Cell     int64  // 0: any
	From, To int64  // start in [From, To), ns UTC; 0: no end
	Day      string // a test day: its date, its name, or both with a blank between; empty: any
	ByItem   bool   // classes by the name of the strap in place of its kind
}

// Logged gives the pulls that are chosen, the earliest first, with days in a zone.
func (c Choice) Logged(ctx context.Context, db *store.Store, zone *time.Location) (all []shock.Logged, err error) {
	filters, date, err := c.filters(ctx, db)
	if err != nil {
		return nil, err
	}
	for _, f := range filters {
		some, err := db.Logged(ctx, f, zone)
		if err != nil {
			return nil, err
		}
		for _, l := range some {
			if l.ByItem = c.ByItem; date == "" || l.Day == date {
				all = append(all, l)
			}
		}
	}
	return all, nil
}

// filters are what to ask the store for: a filter a day where a day was named,
// and a date that pulls must have besides.
func (c Choice) filters(ctx context.Context, db *store.Store) (filters []store.PullFilter, date string, err error) {
	f := store.PullFilter{Cell: c.Cell, From: c.From, To: c.To}
	if c.Day == "" {
		return []store.PullFilter{f}, "", nil
	}
	if _, err := time.Parse(time.DateOnly, c.Day); err == nil {
		return []store.PullFilter{f}, c.Day, nil
	}
	days, err := db.Days(ctx)
	for _, d := range days {
		if c.Day == d.Name || c.Day == d.Date+" "+d.Name {
			f.Day = d.ID
			filters = append(filters, f)
		}
	}
	return filters, "", err
}

// chosen is what was fitted of a choice.
type chosen struct {
	choice  Choice
	version int64 // of the log
	told    Told
}

// mostChosen is of how many choices the fit is held.
const mostChosen = 8

// OfChoice tells what some pulls of the log say. Where none is chosen nothing is
// Fitted, and it is not Behind.
func (b *Book) OfChoice(ctx context.Context, c Choice) (Told, error) {
	log, err := b.Log(ctx)
	if err != nil {
		return Told{}, err
	}
	if t, ok := b.chosen(c, log.version); ok {
		return t, nil
	}
	n := len(log.Pulls) + log.Unread
	later := func(ctx context.Context) error {
		log, err := b.Log(ctx)
		if err != nil {
			return err
		}
		t, err := b.fitChoice(ctx, c, log.version)
		if err == nil && t.Fitted != nil {
			t.drawAll()
		}
		return err
	}
	if n > b.many && b.work.later(fmt.Sprintf("choice %+v", c), later) {
		return Told{Logged: n, Behind: true}, nil
	}
	return b.fitChoice(ctx, c, log.version)
}

func (b *Book) chosen(c Choice, version int64) (Told, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	i := slices.IndexFunc(b.choices, func(k chosen) bool { return k.choice == c && k.version == version })
	if i < 0 {
		return Told{}, false
	}
	return b.choices[i].told, true
}

// fitChoice fits the pulls that are chosen, if that was not done already.
func (b *Book) fitChoice(ctx context.Context, c Choice, version int64) (Told, error) {
	b.fitting.Lock()
	defer b.fitting.Unlock()
	if t, ok := b.chosen(c, version); ok {
		return t, nil
	}
	logged, err := c.Logged(ctx, b.store, b.zone)
	if err != nil {
		return Told{}, err
	}
	t := Told{Logged: len(logged)}
	if len(logged) > 0 {
		pulls := make([]shock.Pull, len(logged))
		for i, l := range logged {
			pulls[i] = shock.FromLog(l)
			b.words.share(&pulls[i])
		}
		f, err := shock.FitAll(ctx, pulls)
		if err != nil {
			return Told{}, err
		}
		t = Told{Kept: f.Keep(""), Fitted: f, Pulls: len(pulls), Logged: len(pulls), drawings: &drawings{made: map[string]any{}}}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.choices = append(b.choices, chosen{c, version, t})
	b.choices = b.choices[max(0, len(b.choices)-mostChosen):]
	return t, nil
}
