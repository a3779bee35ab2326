package web

import (
	"context"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// logged gives the pulls of the store as a fit takes them, the oldest first.
func (s *server) logged(ctx context.Context) ([]shock.Pull, error) {
	log, err := s.Store.Logged(ctx, store.PullFilter{}, s.Zone)
	out := make([]shock.Pull, len(log))
	for i, l := range log {
		out[i] = shock.FromLog(l)
	}
	return out, err
}
