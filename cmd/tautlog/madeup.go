package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// madeUpFile lies in the directory of a store whose data are invented, so that
// whatever opens it later says so, too.
const madeUpFile = "made-up.txt"

// isMadeUp says that the store in dir was filled by a demonstration.
func isMadeUp(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, madeUpFile))
	return err == nil
}

// claim marks the store in dir as made up. One that somebody filled otherwise
// is refused: what is invented must not come among it.
func claim(ctx context.Context, st *store.Store, dir string) error {
	if isMadeUp(dir) {
		return nil
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
	return os.WriteFile(filepath.Join(dir, madeUpFile), []byte(rehearse.Invented+"\n"), 0o644)
}
