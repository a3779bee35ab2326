package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// writeFile writes a file complete or not at all: beside it under another
// name, to the disk, and only then under its own name.
func writeFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := errors.Join(f.Chmod(0o644), f.Sync()); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	return errors.Join(f.Close(), syncDir(filepath.Dir(path)))
}

// syncDir makes a new name in a directory last. Not every system lets a
// directory be synced; the file itself is on disk by then.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return nil
	}
	_ = d.Sync()
	return d.Close()
}
