package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/gofrs/flock"
	_ "modernc.org/sqlite" // the driver behind database/sql

	"tautlog/calc/words"
)

// Names of the files in the directory of a store. Beside the database the
// driver keeps tautlog.db-wal and tautlog.db-shm while it is open.
const (
	databaseName = "tautlog.db"
	lockName     = "tautlog.lock"
)

// Options says how a store is opened. The zero value is usable.
type Options struct {
	Now func() time.Time // the clock for "updated" and the journal; time.Now when nil
	Who string           // who changes things where the context does not say; "tautlog" when empty

	foldReadings, foldTails int // when to fold; for tests
}

func (o Options) withDefaults() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Who == "" {
		o.Who = "tautlog"
	}
	if o.foldReadings == 0 {
		o.foldReadings = blockReadings
	}
	if o.foldTails == 0 {
		o.foldTails = blockTails
	}
	return o
}

// Store is an open store. Its methods may be called from any goroutine.
type Store struct {
	dir     string
	options Options
	lock    *flock.Flock // nil in a reader
	writer  *sql.DB      // one connection; nil in a reader
	reader  *sql.DB
	append  appender
	opened  os.FileInfo // the database that the writer has open
	damage  []*DamageError
	editor  bool // readings are another's to write
}

// Open creates or opens the store in the directory dir for a daemon: it locks
// the directory against a second daemon, brings the format up to date, and
// looks over what an earlier daemon may have been writing when it ended; what
// that found is in Damage.
func Open(dir string, o Options) (*Store, error) {
	s := &Store{dir: dir, options: o.withDefaults()}
	if err := s.open(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func (s *Store) open() (err error) {
	if err := s.makeDir(); err != nil {
		return err
	}
	if err := s.takeLock(); err != nil {
		return err
	}
	s.sweep()
	if err := s.openWriter(); err != nil {
		return err
	}
	ctx := context.Background()
	if err := s.migrate(ctx); err != nil {
		return s.explain("store: open", err)
	}
	if s.append, err = newAppender(ctx, s.writer); err != nil {
		return s.explain("store: open", err)
	}
	if s.reader, err = s.connect("_pragma=query_only(1)"); err != nil {
		return err
	}
	return s.explain("store: open", s.lookOver(ctx))
}

func (s *Store) openWriter() (err error) {
	if s.writer, err = s.connect("_txlock=immediate", "_pragma=synchronous(FULL)"); err != nil {
		return err
	}
	s.writer.SetMaxOpenConns(1)
	if err := s.writer.Ping(); err != nil { // makes the file
		return s.explain("store: open", err)
	}
	if s.opened, err = os.Stat(s.databasePath()); err != nil {
		return &Error{Path: s.dir, Reason: ErrDisk, Hint: words.Say("store.disk.do"), Err: err}
	}
	return nil
}

// there says whether the database is yet where it was opened. A directory that
// was moved or deleted, or a stick that was pulled out, would take what is
// written with it, and the system would not say so.
func (s *Store) there() error {
	now, err := os.Stat(s.databasePath())
	if err == nil && os.SameFile(now, s.opened) {
		return nil
	}
	return &Error{Path: s.dir, Reason: ErrGone, Hint: words.Say("store.gone.do"), Err: err}
}

// turned says whether the disk has become read-only since the store was opened
// for writing. Only the system can say so, when something is to be made there:
// what the driver tells of a write that failed does not.
func (s *Store) turned() bool {
	if s.opened == nil {
		return false
	}
	f, err := os.CreateTemp(s.dir, "tautlog.try-*")
	if err != nil {
		return errors.Is(err, syscall.EROFS)
	}
	_ = f.Close() // nothing is in it
	_ = os.Remove(f.Name())
	return false
}

func (s *Store) makeDir() error {
	info, err := os.Stat(s.dir)
	switch {
	case err == nil && !info.IsDir():
		return &Error{Path: s.dir, Reason: ErrNotStore, Hint: words.Say("store.file.do")}
	case errors.Is(err, fs.ErrNotExist):
		err = os.MkdirAll(s.dir, 0o750)
	}
	if err != nil {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Hint: words.Say("store.make.do"), Err: err}
	}
	return nil
}

func (s *Store) takeLock() error {
	path := filepath.Join(s.dir, lockName)
	lock := flock.New(path, flock.SetPermissions(0o640))
	got, err := lock.TryLock()
	if err != nil {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Hint: words.Say("store.readonly.do"), Err: err}
	}
	if !got {
		hint := words.Say("store.locked.do")
		if pid, err := os.ReadFile(path); err == nil && len(pid) > 0 {
			hint = words.Say("store.locked.process", strings.TrimSpace(string(pid)))
		}
		return &Error{Path: s.dir, Reason: ErrLocked, Hint: hint}
	}
	s.lock = lock
	// The process number is only a help for people: a full disk that refuses
	// it must not keep the store closed.
	err = os.WriteFile(path, []byte(strconv.Itoa(os.Getpid())+"\n"), 0o640)
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Hint: words.Say("store.readonly.do"), Err: err}
	}
	return nil
}

func (s *Store) databasePath() string { return filepath.Join(s.dir, databaseName) }

// connect makes a pool of connections. Options come first: the driver
// applies pragmas in the order given.
func (s *Store) connect(options ...string) (*sql.DB, error) {
	path, err := filepath.Abs(s.databasePath())
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	query := append([]string{"_pragma=busy_timeout(5000)"}, options...)
	if !strings.Contains(strings.Join(options, " "), "mode=ro") {
		query = append(query, "_pragma=journal_mode(WAL)", "_pragma=foreign_keys(1)", "_pragma=journal_size_limit(67108864)")
	}
	db, err := sql.Open("sqlite", address(filepath.ToSlash(path), query))
	if err != nil {
		return nil, s.explain("store: open", err)
	}
	return db, nil
}

// address is a database as SQLite takes it (sqlite.org/uri.html). The path is
// absolute and has slashes only; one of Windows begins with its drive.
func address(path string, query []string) string {
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: strings.Join(query, "&")}).String()
}

// Dir is the directory of the store.
func (s *Store) Dir() string { return s.dir }

// Damage is what Open found damaged among the latest readings of each cell.
// Integrity looks at everything.
func (s *Store) Damage() []*DamageError { return s.damage }

// Close ends all use of the store. Nothing is lost by not calling it.
func (s *Store) Close() error {
	all := []error{s.append.close()}
	if s.reader != nil {
		all = append(all, s.reader.Close())
	}
	if s.writer != nil {
		all = append(all, s.writer.Close())
	}
	if s.lock != nil {
		all = append(all, s.lock.Unlock())
	}
	return errors.Join(all...)
}

// write runs f in the writer's transaction, which is kept only when f
// returns nil.
func (s *Store) write(ctx context.Context, op string, f func(*sql.Tx) error) error {
	if s.writer == nil {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Hint: words.Say("store.reading")}
	}
	if err := s.there(); err != nil {
		return err
	}
	tx, err := s.writer.BeginTx(ctx, nil)
	if err != nil {
		return s.explain(op, err)
	}
	if err := f(tx); err != nil {
		_ = tx.Rollback() // fails where the database has rolled back by itself
		return s.explain(op, err)
	}
	return s.explain(op, tx.Commit())
}

// writeReadings is write for what only a daemon may write.
func (s *Store) writeReadings(ctx context.Context, op string, f func(*sql.Tx) error) error {
	if s.editor {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Hint: words.Say("store.documents")}
	}
	return s.write(ctx, op, f)
}

// read runs f on one moment of the store.
func (s *Store) read(ctx context.Context, op string, f func(*sql.Tx) error) error {
	tx, err := s.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return s.explain(op, err)
	}
	defer func() { _ = tx.Rollback() }() // there is nothing to lose
	return s.explain(op, f(tx))
}
