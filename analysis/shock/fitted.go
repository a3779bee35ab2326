package shock

import (
	"context"
	"slices"
	"strings"
)

// Fitted is all that pulls tell, of classes and by speed. Charts, checks, kept
// sets and test days are made of it without fitting again. Nothing of it may be
// changed.
type Fitted struct {
	Pulls        []Pull // what was fitted, also what had to be left out
	Set          Set
	Speed        *SpeedFit // nil where there is none; see FitSpeed
	WithoutSpeed []LeftOut // kinetic pulls that the speed fit could not use
}

// FitAll fits pulls by Fit and FitSpeed. With a hundred thousand of them that
// takes half a minute; it gives up with the error of ctx when ctx ends.
func FitAll(ctx context.Context, pulls []Pull) (f *Fitted, err error) {
	defer heed(ctx, &err)
	f = &Fitted{Pulls: pulls, Set: Fit(pulls)}
	f.Speed, f.WithoutSpeed = fitSpeedUntil(ctx.Done(), pulls)
	return f, nil
}

// fitted is FitAll to the end.
func fitted(pulls []Pull) *Fitted {
	f, err := FitAll(context.Background(), pulls)
	if err != nil {
		panic("shock: " + err.Error()) // it did not end
	}
	return f
}

// gaveUp is what a calculation panics with that is not wanted any more: it
// unwinds to heed.
type gaveUp struct{}

// goOn gives up where done is closed.
func goOn(done <-chan struct{}) {
	select {
	case <-done:
		panic(gaveUp{})
	default:
	}
}

// heed, deferred, turns a calculation that gave up into the error of ctx.
func heed(ctx context.Context, err *error) {
	switch r := recover(); r {
	case nil:
	case gaveUp{}:
		*err = ctx.Err()
	default:
		panic(r)
	}
}

// Keep freezes what was fitted under a name. Pulls that cannot be used are kept
// too, and listed in Fit. The pulls are shared with f.
func (f *Fitted) Keep(name string) Kept {
	r := f.Set.Record()
	r.Speed = RecordSpeed(f.Speed, f.WithoutSpeed)
	return Kept{Name: strings.TrimSpace(name), Pulls: f.Pulls, Fit: &r}.With(f)
}

// Keep fits pulls and freezes what comes out under a name; see Fitted.Keep.
func Keep(name string, pulls []Pull) Kept {
	return fitted(slices.Clone(pulls)).Keep(name).forget()
}

// refit is what this program makes of the pulls of a kept set.
type refit struct {
	speed *SpeedFit
	drift []string
}

// With gives the set together with what this program fits of its pulls, so
// that Refit and Speed need not fit them again.
func (k Kept) With(f *Fitted) Kept {
	if k.Fit == nil {
		return k
	}
	d := drifts{label: k.Label()}
	for _, c := range f.Set.Classes {
		d.is = append(d.is, c.record())
	}
	d.classes(k.Fit.Classes)
	d.speed(k.Fit.Speed, RecordSpeed(f.Speed, f.WithoutSpeed))
	k.again = &refit{f.Speed, d.remarks}
	return k
}

// forget is the set without what With added.
func (k Kept) forget() Kept {
	k.again = nil
	return k
}
