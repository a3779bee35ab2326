package archive

import (
	"context"
	"errors"
	"time"
)

// Pace says how often Follow pushes. The zero value is usable.
type Pace struct {
	Every time.Duration // while all goes well; 5 s when 0
	Most  time.Duration // longest wait between tries while it does not; 5 min when 0
	// Asked ends a wait where it says so: somebody wants all to be pushed now,
	// what was refused as well. Nil: nobody asks.
	Asked <-chan struct{}
	// Wait waits that long or until ctx ends, whose error it then gives; nil:
	// by the clock.
	Wait func(ctx context.Context, d time.Duration) error
	// Now is the clock; time.Now when nil.
	Now func() time.Time
}

// refusedEvery is how often what an archive refused is tried again.
const refusedEvery = time.Hour

func (p Pace) withDefaults() Pace {
	if p.Every == 0 {
		p.Every = 5 * time.Second
	}
	if p.Most == 0 {
		p.Most = 5 * time.Minute
	}
	if p.Now == nil {
		p.Now = time.Now
	}
	return p
}

// rest waits for d, or until somebody asks for a push.
func (p Pace) rest(ctx context.Context, d time.Duration) (asked bool, err error) {
	if p.Wait != nil {
		return false, p.Wait(ctx, d)
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return false, nil
	case <-p.Asked:
		return true, nil
	case <-ctx.Done():
		return false, ctx.Err()
	}
}

// Follow pushes what comes, beside a daemon, until ctx ends. Whatever goes
// wrong is logged once and tried again, after waits that grow: it ends nothing
// else.
func (p *Pusher) Follow(ctx context.Context, pace Pace) {
	pace = pace.withDefaults()
	var again time.Time // when what was refused is tried
	told, delay, asked := "", pace.Every, false
	for {
		now := pace.Now()
		try := asked || !now.Before(again)
		_, err := p.Push(ctx, try)
		if ctx.Err() != nil {
			return
		}
		if try && err == nil {
			again = now.Add(refusedEvery)
		}
		delay = pace.after(err, delay)
		told = p.tell(err, told)
		if asked, err = pace.rest(ctx, delay); err != nil {
			return
		}
	}
}

// after is how long to wait after a push that ended so, and before it waited
// for delay.
func (p Pace) after(err error, delay time.Duration) time.Duration {
	if err == nil {
		return p.Every
	}
	next := min(2*delay, p.Most)
	if fault, ok := errors.AsType[*Fault](err); ok {
		next = max(next, fault.After)
	}
	return next
}

// tell logs what is news.
func (p *Pusher) tell(err error, told string) string {
	says := ""
	if err != nil {
		says = err.Error()
	}
	switch {
	case says == told:
	case says == "":
		p.log.Info("the archive takes readings again", "archive", p.cfg.Server.Address())
	default:
		p.log.Warn("nothing can be archived now", "error", says)
	}
	return says
}
