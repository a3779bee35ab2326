package store

import (
	"context"
	"errors"
	"os"

	"tautlog/calc/words"
)

// OpenReader opens a store for reading only, beside a daemon that may be
// writing to it. It takes no lock and changes nothing.
func OpenReader(dir string) (*Store, error) {
	s := &Store{dir: dir, options: Options{}.withDefaults()}
	if err := s.openReader(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func (s *Store) openReader() (err error) {
	if _, err := os.Stat(s.databasePath()); err != nil {
		return &Error{Path: s.dir, Reason: ErrNoStore, Hint: words.Say("store.none.do"), Err: err}
	}
	if s.reader, err = s.connect(append(s.readingMode(), "_pragma=query_only(1)")...); err != nil {
		return err
	}
	return s.explain("store: open", s.checkFormat(context.Background()))
}

// readingMode are the options of a connection that changes nothing.
func (s *Store) readingMode() []string {
	if s.onReadOnlyMedium() {
		return []string{"mode=ro", "immutable=1"}
	}
	return []string{"mode=ro"}
}

// OpenEditor opens a store for documents, pulls and sets, beside a daemon that
// may be recording into it. It takes no lock, and writes no readings: Append
// and Fold are refused with ErrReadOnly. Each save is a transaction of
// milliseconds, for which the daemon's next commit waits. The store must be
// there and of the present format.
func OpenEditor(dir string, o Options) (*Store, error) {
	s := &Store{dir: dir, options: o.withDefaults(), editor: true}
	err := s.openReader()
	if err == nil {
		err = s.openWriter()
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// onReadOnlyMedium tells whether the directory cannot be written and nothing
// is left in a write-ahead log: then nobody can be writing, and the driver
// must be told so, because it cannot make its shared memory file.
func (s *Store) onReadOnlyMedium() bool {
	if wal, err := os.Stat(s.databasePath() + "-wal"); err == nil && wal.Size() > 0 {
		return false
	}
	probe, err := os.CreateTemp(s.dir, ".tautlog-probe-*")
	if err != nil {
		return true
	}
	_ = probe.Close()
	_ = os.Remove(probe.Name())
	return false
}
