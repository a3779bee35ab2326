package logbook

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"tautlog/analysis/shock"
)

// Log is the pulls of the log as a fit takes them.
type Log struct {
	Pulls []shock.Pull // the earliest first
	// Unread is how many pulls are new or changed and not among Pulls yet as
	// they are now: they are being read.
	Unread int

	keys    []key // of Pulls
	until   int64 // the change of the journal up to which it is known
	version int64 // another one where Pulls differ
}

// key is by what the pulls of the log are ordered.
type key struct{ start, id int64 }

func (k key) compare(o key) int {
	return cmp.Or(cmp.Compare(k.start, o.start), cmp.Compare(k.id, o.id))
}

// Log gives the pulls of the log as they are now. Where more have changed than
// can be waited for, they are read in the background, and Unread tells how many
// there are.
func (b *Book) Log(ctx context.Context) (Log, error) {
	b.reading.Lock()
	defer b.reading.Unlock()
	changed, err := b.store.LogSince(ctx, b.log.until)
	if err != nil {
		return Log{}, err
	}
	if len(changed.Pulls) == 0 {
		b.log.until = changed.Until
		return b.log, nil
	}
	if len(changed.Pulls) > b.many && b.work.later("log", b.catchUp) {
		log := b.log
		log.Unread = len(changed.Pulls)
		return log, nil
	}
	return b.read(ctx, changed.Pulls, changed.Until)
}

// catchUp reads what has changed while others are given what is known already.
func (b *Book) catchUp(ctx context.Context) error {
	b.reading.Lock()
	log := b.log
	b.reading.Unlock()
	changed, err := b.store.LogSince(ctx, log.until)
	if err != nil || len(changed.Pulls) == 0 {
		return err
	}
	next, err := b.with(ctx, log, changed.Pulls, changed.Until)
	if err != nil {
		return err
	}
	b.reading.Lock()
	defer b.reading.Unlock()
	if b.log.version == log.version { // else somebody has read it meanwhile
		b.log = next
	}
	return nil
}

// read takes in the pulls that have changed. The lock is held.
func (b *Book) read(ctx context.Context, changed []int64, until int64) (Log, error) {
	next, err := b.with(ctx, b.log, changed, until)
	if err == nil {
		b.log = next
	}
	return b.log, err
}

// portion is how many pulls are read from the store at a time.
const portion = 1000

// entry is a pull with its key.
type entry struct {
	key
	pull shock.Pull
}

// with gives a log with some pulls as they are now. The log itself stays as it
// is, for those who have it.
func (b *Book) with(ctx context.Context, log Log, changed []int64, until int64) (Log, error) {
	var fresh []entry
	for ids := range slices.Chunk(changed, portion) {
		logged, err := b.store.LoggedPulls(ctx, ids, b.zone)
		if err != nil {
			return Log{}, err
		}
		for _, l := range logged {
			p := shock.FromLog(l)
			b.words.share(&p)
			fresh = append(fresh, entry{key{l.Found.Start, int64(l.Number)}, p})
		}
	}
	slices.SortFunc(fresh, func(x, y entry) int { return x.compare(y.key) })
	old := map[int64]bool{}
	for _, id := range changed {
		old[id] = true
	}
	next := Log{until: until, version: log.version + 1}
	next.Pulls = make([]shock.Pull, 0, len(log.Pulls)+len(fresh))
	next.keys = make([]key, 0, len(log.Pulls)+len(fresh))
	for i, k := range log.keys {
		if old[k.id] {
			continue
		}
		for len(fresh) > 0 && fresh[0].compare(k) < 0 {
			next.add(fresh[0])
			fresh = fresh[1:]
		}
		next.add(entry{k, log.Pulls[i]})
	}
	for _, e := range fresh {
		next.add(e)
	}
	return next, nil
}

func (l *Log) add(e entry) { l.Pulls, l.keys = append(l.Pulls, e.pull), append(l.keys, e.key) }

// words keeps one copy of each word that many pulls have.
type words struct {
	mu   sync.Mutex
	have map[string]string
}

// share lets a pull use the words of others.
func (w *words) share(p *shock.Pull) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.have == nil {
		w.have = map[string]string{}
	}
	for _, s := range []*string{&p.Day, &p.Class.Ground, &p.Class.Strap, (*string)(&p.Class.Kind), &p.Remark} {
		one, ok := w.have[*s]
		if !ok {
			one = *s
			w.have[one] = one
		}
		*s = one
	}
}
