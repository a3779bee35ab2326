package main

import (
	"context"

	"tautlog/ingest/store"
)

// pullFilter chooses pulls of the log.
func (s *storedFlags) pullFilter(ctx context.Context, db *store.Store) (f store.PullFilter, err error) {
	if s.from.set {
		f.From = s.from.at.UnixNano()
	}
	if s.to.set {
		f.To = s.to.at.UnixNano()
	}
	if s.cell != "" {
		cell, err := s.chosen(ctx, db)
		if err != nil {
			return f, err
		}
		f.Cell = cell.ID
	}
	return f, nil
}
