package archive

import "context"

// refusedBefore are the stretches that were refused before this push, where
// they are to be tried again.
func (p *Pusher) refusedBefore(ctx context.Context, again bool) (map[int64]bool, error) {
	waiting := map[int64]bool{}
	if !again {
		return waiting, nil
	}
	known, err := p.known(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range known {
		all, err := p.cfg.Store.ArchiveStretches(ctx, c, true)
		if err != nil {
			return nil, err
		}
		for _, t := range all {
			waiting[t.ID] = true
		}
	}
	return waiting, nil
}

// stepRefused tries what was refused, up to where it is refused again.
func (p *Pusher) stepRefused(ctx context.Context, c archived, waiting map[int64]bool, sum *Sum) (bool, error) {
	all, err := p.cfg.Store.ArchiveStretches(ctx, c.at, true)
	if err != nil {
		return false, err
	}
	for _, t := range all {
		if !waiting[t.ID] {
			continue
		}
		b, err := p.read(ctx, c, t.From, t.To)
		if err != nil {
			return false, err
		}
		refused, err := p.send(ctx, c, b, true, sum)
		if err != nil {
			return false, err
		}
		if len(refused) > 0 {
			delete(waiting, t.ID)
			b.until = refused[0].From
		}
		return true, p.cfg.Store.PushedAgain(ctx, c.at, t, b.until, nil)
	}
	return false, nil
}
