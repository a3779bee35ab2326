package web

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// troubles knows which items of the register are in trouble. It holds the
// little that this takes of every item and follows the journal and the links of
// pulls, so that a register of ten thousand items with a hundred thousand pulls
// is read once and not for every page.
type troubles struct {
	store   *store.Store
	zone    *time.Location
	mu      sync.Mutex
	read    bool
	seen    int64 // the latest change that it knows
	counted int64 // the latest change of a link that it knows
	items   map[int64]watched
	used    map[int64]gear.Used // what the owner's rules count, of those that were in a pull
	over    map[int64]gear.Date // when it may have carried too much last, of those that were asked for
	day     gear.Date
	found   []trouble // as of that day; nil: to be worked out
}

// watched is what of an item tells whether it is in trouble, and which it is.
type watched struct {
	gear.Item
	said string // what a search looks through, in small letters
}

// trouble is an item that nobody should reach for without a look.
type trouble struct {
	ID   int64
	Item gear.Item
	Used gear.Used
	said string // see watched
}

// all lists the items in trouble today, by their keys.
func (t *troubles) all(ctx context.Context, today gear.Date) ([]trouble, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := errors.Join(t.follow(ctx), t.count(ctx)); err != nil {
		return nil, err
	}
	if t.found == nil || t.day != today {
		t.day, t.found = today, []trouble{}
		for id, it := range t.items {
			used, err := t.uses(ctx, id)
			if err != nil {
				t.found = nil
				return nil, err
			}
			if len(life.Troubles(it.Item, used, today, unit.DefaultShown)) > 0 {
				t.found = append(t.found, trouble{id, it.Item, used, it.said})
			}
		}
		slices.SortFunc(t.found, func(a, b trouble) int { return cmp.Compare(a.Item.Key(), b.Item.Key()) })
	}
	return t.found, nil
}

// usedBy is what the owner's rules count of some items.
func (t *troubles) usedBy(ctx context.Context, ids ...int64) (map[int64]gear.Used, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	out := map[int64]gear.Used{}
	err := errors.Join(t.follow(ctx), t.count(ctx))
	for _, id := range ids {
		if err == nil {
			out[id], err = t.uses(ctx, id)
		}
	}
	return out, err
}

// uses is what is counted of an item, with the day on which it may have carried
// too much last.
func (t *troubles) uses(ctx context.Context, id int64) (gear.Used, error) {
	used, ceiling := t.used[id], t.items[id].Ceiling()
	if ceiling <= 0 || used.Peak <= ceiling {
		return used, nil
	}
	day, known := t.over[id]
	if !known {
		var err error
		if day, err = t.store.LastAbove(ctx, id, ceiling, t.zone); err != nil {
			return used, err
		}
		t.over[id] = day
	}
	used.Over = day
	return used, nil
}

// count takes in what pulls were linked since the last call.
func (t *troubles) count(ctx context.Context) error {
	used, now, err := t.store.ItemsUsed(ctx, t.counted)
	if err != nil || now == t.counted {
		return err
	}
	if t.used == nil {
		t.used = used
	}
	maps.Copy(t.used, used)
	for id := range used {
		delete(t.over, id)
	}
	t.counted, t.found = now, nil
	return nil
}

// manyChanges is how many changes are followed one by one; after more of them
// the register is read anew.
const manyChanges = 200

// follow takes in what was changed since the last call.
func (t *troubles) follow(ctx context.Context) error {
	changes, err := t.store.Changes(ctx, store.JournalFilter{What: "item", Limit: manyChanges})
	if err != nil || len(changes) == 0 {
		return err
	}
	newest := changes[0].ID
	if t.read && newest == t.seen {
		return nil
	}
	if !t.read || changes[len(changes)-1].ID > t.seen && len(changes) == manyChanges {
		return t.readAll(ctx, newest)
	}
	for _, c := range changes {
		if c.ID <= t.seen {
			break
		}
		d, err := t.store.Item(ctx, c.Ref)
		if err != nil {
			return err
		}
		delete(t.items, d.ID)
		delete(t.over, d.ID)
		if d.Removed.IsZero() {
			t.items[d.ID] = toWatch(d.Value)
		}
	}
	t.seen, t.found = newest, nil
	return nil
}

func (t *troubles) readAll(ctx context.Context, newest int64) error {
	docs, err := t.store.Items(ctx)
	if err != nil {
		return err
	}
	t.items = make(map[int64]watched, len(docs))
	for _, d := range docs {
		t.items[d.ID] = toWatch(d.Value)
	}
	t.over = map[int64]gear.Date{}
	t.read, t.seen, t.found = true, newest, nil
	return nil
}

// toWatch takes of an item what is watched, so that a register of ten thousand is
// held in memory.
func toWatch(it gear.Item) watched {
	small := gear.Item{ID: it.ID, Name: it.Name, Kind: it.Kind, Vehicle: it.Vehicle, Where: it.Where, Made: it.Made, Inspected: it.Inspected, Life: it.Life}
	small.Inspections = nil
	if last, ok := it.LastInspection(); ok {
		last.Photos, last.Notes = nil, ""
		small.Inspections = []gear.Inspection{last}
	}
	small.Ratings = it.Ratings
	return watched{small, strings.ToLower(it.Words())}
}

// fits says whether an item has all words of a search and is of a kind.
func (t trouble) fits(words string, k gear.Kind) bool {
	for word := range strings.FieldsSeq(strings.ToLower(words)) {
		if !strings.Contains(t.said, word) {
			return false
		}
	}
	return k == "" || t.Item.Kind == k
}
