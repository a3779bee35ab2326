package record

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// openStore opens a real store with one packed cell.
func openStore(t testing.TB, dir string) (*store.Store, store.Cell) {
	t.Helper()
	s, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	cell, err := s.SaveCell(t.Context(), store.Cell{
		Name: "River-1", Line: port.Line{Path: "/dev/none"}, Rate: 20000,
		Wire:  wire.Config{Format: wire.Packed},
		Curve: calibrate.Curve{Coefficients: []float64{0, 1}},
	})
	require.NoError(t, err)
	return s, cell
}

// stored is every raw reading of a cell in the order of time.
func stored(t testing.TB, s *store.Store, cell int64) (raw []int64) {
	t.Helper()
	for run, err := range s.Runs(context.Background(), cell, 0, 1<<62) {
		require.NoError(t, err)
		raw = append(raw, run.Raw...)
	}
	return raw
}
