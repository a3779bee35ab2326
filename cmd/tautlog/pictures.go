package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tautlog/ingest/store"
)

// exportPictures writes the pictures of inspections to a directory, each under
// its hash.
func exportPictures(ctx context.Context, db *store.Store, dir string) error {
	all, err := db.Attachments(ctx)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("the pictures cannot be written: %w", err)
	}
	for _, a := range all {
		_, data, err := db.Attachment(ctx, a.Hash)
		if err != nil {
			return err
		}
		name := filepath.Join(dir, a.Hash+"."+strings.TrimPrefix(a.Media, "image/"))
		err = writeFile(name, func(w io.Writer) error { _, err := w.Write(data); return err })
		if err != nil {
			return err
		}
	}
	return nil
}

// importPictures takes in the pictures of a directory. What is there already
// is taken once.
func importPictures(ctx context.Context, db *store.Store, dir string) (n int, err error) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return 0, fmt.Errorf("the pictures cannot be read: %w", err)
	}
	for _, f := range files {
		if !f.Type().IsRegular() {
			continue
		}
		name := filepath.Join(dir, f.Name())
		if err := importPicture(ctx, db, name); err != nil {
			return n, fmt.Errorf("%s: %w", name, err)
		}
		n++
	}
	return n, nil
}

func importPicture(ctx context.Context, db *store.Store, name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = db.Attach(ctx, f)
	return err
}
