package logbook

import (
	"context"
	"math"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// Head is a kept set without its pulls.
type Head struct {
	shock.Kept
	Count int // of its pulls
}

// Ref names the set.
func (h Head) Ref() store.SetRef { return store.SetRef{Name: h.Name, Version: h.Version} }

// holding is a set with its pulls and what was fitted of them.
type holding struct {
	told  Told
	asked int64
}

// most is how many pulls sets may hold in memory, beside the one that was asked
// for last: those that nobody asked for longest are read again when they are.
const most = 250_000

// Sets gives every set that was kept, as store.Sets does, without their pulls.
// A kept set never changes: each is read once.
func (b *Book) Sets(ctx context.Context) ([]Head, error) {
	refs, err := b.store.SetRefs(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]Head, len(refs))
	for i, ref := range refs {
		if out[i], err = b.Head(ctx, ref); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// InUse gives the set that is planned with, without its pulls.
func (b *Book) InUse(ctx context.Context) (Head, error) {
	ref, err := b.store.PlanningWithRef(ctx)
	if err != nil {
		return Head{}, err
	}
	return b.Head(ctx, ref)
}

// Head gives a version of a set without its pulls, or store.ErrNotFound; see
// store.Set.
func (b *Book) Head(ctx context.Context, ref store.SetRef) (Head, error) {
	if h, ok := b.known(ref); ok {
		return h, nil
	}
	k, pulls, err := b.store.SetHead(ctx, ref)
	if err != nil {
		return Head{}, err
	}
	return b.keepHead(ref, Head{k, pulls}), nil
}

func (b *Book) known(ref store.SetRef) (Head, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	h, ok := b.heads[ref]
	return h, ok
}

func (b *Book) keepHead(ref store.SetRef, h Head) Head {
	h.Pulls = nil
	b.mu.Lock()
	defer b.mu.Unlock()
	b.heads[ref] = h
	return h
}

// OfSet tells what the pulls behind a set say. The numbers to plan with are
// those that were kept, whether or not the rest is there yet.
func (b *Book) OfSet(ctx context.Context, ref store.SetRef) (Told, error) {
	h, err := b.Head(ctx, ref)
	if err != nil || h.Count == 0 {
		return Told{Kept: h.Kept}, err
	}
	if t, ok := b.holding(ref); ok {
		return t, nil
	}
	load := func(ctx context.Context) error {
		t, err := b.load(ctx, ref)
		if err == nil {
			t.drawAll()
		}
		return err
	}
	if h.Count > b.many && b.work.later("set "+h.Label(), load) {
		return Told{Kept: h.Kept, Pulls: h.Count, Behind: true}, nil
	}
	return b.load(ctx, ref)
}

// holding gives what is held of a set.
func (b *Book) holding(ref store.SetRef) (Told, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	h, ok := b.held[ref]
	if !ok {
		return Told{}, false
	}
	b.asked++
	h.asked = b.asked
	return h.told, true
}

// load reads a set and fits its pulls, if that was not done meanwhile.
func (b *Book) load(ctx context.Context, ref store.SetRef) (Told, error) {
	b.fitting.Lock()
	defer b.fitting.Unlock()
	if t, ok := b.holding(ref); ok {
		return t, nil
	}
	k, err := b.store.Set(ctx, ref.Name, ref.Version)
	if err != nil {
		return Told{}, err
	}
	for i := range k.Pulls {
		b.words.share(&k.Pulls[i])
	}
	f, err := shock.FitAll(ctx, k.Pulls)
	if err != nil {
		return Told{}, err
	}
	return b.hold(ref, k, f), nil
}

// hold holds a set, and lets go of others.
func (b *Book) hold(ref store.SetRef, k shock.Kept, f *shock.Fitted) Told {
	t := Told{Kept: k.With(f), Fitted: f, Pulls: len(k.Pulls), drawings: &drawings{made: map[string]any{}}}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.asked++
	b.held[ref] = &holding{t, b.asked}
	for b.holds() > most && len(b.held) > 1 {
		oldest, least := ref, int64(math.MaxInt64)
		for r, h := range b.held {
			if r != ref && h.asked < least {
				oldest, least = r, h.asked
			}
		}
		delete(b.held, oldest)
	}
	return t
}

func (b *Book) holds() (pulls int) {
	for _, h := range b.held {
		pulls += h.told.Pulls
	}
	return pulls
}

// Kept tells the book of a set that was kept just now from what it gave: it need
// not be read and fitted again.
func (b *Book) Kept(k shock.Kept, f *shock.Fitted) {
	ref := store.SetRef{Name: k.Name, Version: k.Version}
	b.keepHead(ref, Head{k, len(k.Pulls)})
	b.hold(ref, k, f)
}
