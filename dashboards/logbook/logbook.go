// Package logbook keeps in memory what the pages ask of the log of pulls and of
// kept sets again and again: the pulls as a fit takes them, the sets, and what
// was fitted of them. It is always in step with the store, which it asks each
// time what has changed. It measures nothing, shows nothing and writes nothing.
//
// A log or a set of no more than Many pulls is read and fitted while somebody
// waits. Of a larger one that is done in the background, as long as Run runs:
// until it is done the latest that was finished is given, and said to be that.
package logbook

import (
	"context"
	"sync"
	"time"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// Many is how many pulls are read and fitted while somebody waits.
const Many = 2000

// Book is the log and the sets of one store. Its methods may be called from any
// goroutine. What it gives is shared: nobody may change it.
type Book struct {
	store *store.Store
	zone  *time.Location
	many  int
	work  work

	reading sync.Mutex // guards log
	log     Log
	words   words

	fitting sync.Mutex // held while something is fitted that somebody waits for

	mu      sync.Mutex // guards the rest
	fit     fit        // of the log
	heads   map[store.SetRef]Head
	held    map[store.SetRef]*holding
	asked   int64 // counts, for what was asked for last
	answers []answer
	choices []chosen
}

// New makes the book of a store, for days in a zone.
func New(s *store.Store, zone *time.Location) *Book {
	return &Book{store: s, zone: zone, many: Many, heads: map[store.SetRef]Head{}, held: map[store.SetRef]*holding{}, work: work{wake: make(chan struct{}, 1)}}
}

// Told is what pulls say: those of the log, or those behind a set.
type Told struct {
	// Kept holds the numbers; of the log, as if it were kept now. It is without
	// its pulls as long as nothing is Fitted.
	Kept shock.Kept
	// Fitted is what those numbers are made of; nil where there is none, as in
	// a set that was assumed, and as long as it is being worked out.
	Fitted *shock.Fitted
	// Pulls is how many it is from, also what had to be left out.
	Pulls int
	// Logged is how many pulls the log has now, where it is of the log.
	Logged int
	// Behind says that it is being brought up to date, or worked out at all.
	Behind bool

	drawings *drawings // of Fitted
}

// fit is what was fitted of the log.
type fit struct {
	version int64 // of the log
	told    Told
}

// OfLog tells what the pulls of the log say.
func (b *Book) OfLog(ctx context.Context) (Told, error) {
	log, err := b.Log(ctx)
	if err != nil {
		return Told{}, err
	}
	if len(log.Pulls)+log.Unread > b.many && (log.Unread > 0 || b.latest().version != log.version) && b.work.later("log", b.refit) {
		t := b.latest().told
		t.Logged, t.Behind = len(log.Pulls), true
		if log.Unread > 0 && t.Fitted == nil {
			t.Logged += log.Unread
		}
		return t, nil
	}
	return b.fitLog(ctx, log)
}

func (b *Book) latest() fit {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fit
}

// refit brings the fit of the log up to date.
func (b *Book) refit(ctx context.Context) error {
	log, err := b.Log(ctx)
	if err != nil || log.Unread > 0 {
		return err
	}
	t, err := b.fitLog(ctx, log)
	if err == nil {
		t.drawAll()
	}
	return err
}

// fitLog fits the log as it is, if that was not done already.
func (b *Book) fitLog(ctx context.Context, log Log) (Told, error) {
	b.fitting.Lock()
	defer b.fitting.Unlock()
	if have := b.latest(); have.told.Fitted != nil && have.version == log.version {
		return have.told, nil
	}
	f, err := shock.FitAll(ctx, log.Pulls)
	if err != nil {
		return Told{}, err
	}
	t := Told{Kept: f.Keep(""), Fitted: f, Pulls: len(log.Pulls), Logged: len(log.Pulls), drawings: &drawings{made: map[string]any{}}}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fit = fit{log.version, t}
	return t, nil
}
