package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tautlog/ingest/store"
)

// writeFile writes a file complete or not at all: beside it under another
// name, to the disk, and only then under its own name. It is closed by then:
// Windows gives no open file another name.
func writeFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	defer func() {
		if err != nil {
			_ = f.Close() // may be closed already
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := errors.Join(f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	store.SyncDirectory(filepath.Dir(path))
	return nil
}
