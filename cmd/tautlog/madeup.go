package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// Who enters what is invented, as the journal of the store has it.
const (
	byDemonstration = "demonstration"
	byDemoLater     = "demonstration, made up" // what it remembers of the past
	bySample        = "sample, made up"
)

// madeUpFile lies in the directory of a store whose data are invented, for
// people who look there. The mark that cannot get lost is in the journal.
const madeUpFile = "made-up.txt"

// isMadeUp says that the store, which lies in dir, was filled by a
// demonstration: it says so itself, also where the file is missing because the
// store is older than that, or was copied or restored without it. What was
// entered first tells, since a demonstration refuses a store with other data.
func isMadeUp(ctx context.Context, st *store.Store, dir string) (bool, error) {
	if _, err := os.Stat(filepath.Join(dir, madeUpFile)); err == nil {
		return true, nil
	}
	first, err := st.FirstChange(ctx)
	return slices.Contains([]string{byDemonstration, byDemoLater, bySample}, first.Who), err
}

// claim marks the store in dir as made up. One that somebody filled otherwise
// is refused: what is invented must not come among it.
func claim(ctx context.Context, st *store.Store, dir string) error {
	known, err := isMadeUp(ctx, st, dir)
	if err != nil {
		return err
	}
	if known {
		return markMadeUp(dir)
	}
	cells, err := st.Cells(ctx)
	if err != nil {
		return err
	}
	items, err := st.FindItems(ctx, store.Find{Limit: 1})
	if err != nil {
		return err
	}
	if len(cells)+len(items) > 0 {
		return fmt.Errorf("the store in %s was not made by a demonstration; name another directory with --data", dir)
	}
	return markMadeUp(dir)
}

func markMadeUp(dir string) error {
	return os.WriteFile(filepath.Join(dir, madeUpFile), []byte(rehearse.Invented+"\n"), 0o644)
}
