package web

import (
	"context"
	"sync"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// pullLog is the pulls of the store as a fit takes them, read again only after
// something has changed: every change has its line in the journal.
type pullLog struct {
	mu    sync.Mutex
	at    int64 // the line of the journal up to which it is known
	pulls []shock.Pull
}

// logged gives the pulls of the store as a fit takes them, the oldest first.
// They are shared: nobody may change them.
func (s *server) logged(ctx context.Context) ([]shock.Pull, error) {
	s.log.mu.Lock()
	defer s.log.mu.Unlock()
	last, err := s.Store.Journal(ctx, "", 0, 1)
	if err != nil {
		return nil, err
	}
	if len(last) > 0 && last[0].ID == s.log.at {
		return s.log.pulls, nil
	}
	log, err := s.Store.Logged(ctx, store.PullFilter{}, s.Zone)
	if err != nil {
		return nil, err
	}
	s.log.pulls = make([]shock.Pull, len(log))
	for i, l := range log {
		s.log.pulls[i] = shock.FromLog(l)
	}
	if len(last) > 0 {
		s.log.at = last[0].ID
	}
	return s.log.pulls, nil
}

// usable counts the pulls that a fit can use.
func usable(log []shock.Pull) (n int) {
	for _, p := range log {
		if p.Problem() == "" {
			n++
		}
	}
	return n
}
