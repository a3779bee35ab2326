package store

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tautlog/calc/words"
)

// Backup writes everything in the store, as it is at one moment, into one new
// file, which is itself a database of a store. It may run beside a daemon,
// which goes on. The file appears complete, on the disk and checked by
// Integrity, or not at all; one that is there already is ErrInvalid.
func (s *Store) Backup(ctx context.Context, path string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return &Error{Path: path, Reason: ErrInvalid, Hint: words.Say("store.backup.there")}
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), ".tautlog-backup-*")
	if err != nil {
		return &Error{Path: path, Reason: ErrReadOnly, Hint: words.Say("store.backup.where"), Err: err}
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	made := filepath.Join(dir, databaseName)
	if err := s.copyInto(ctx, made); err != nil {
		return err
	}
	if err := errors.Join(syncFile(made), checkCopy(ctx, dir)); err != nil {
		return words.Error("store.backup.failed", path, err)
	}
	if err := os.Rename(made, path); err != nil {
		return &Error{Path: path, Reason: ErrReadOnly, Err: err}
	}
	SyncDirectory(filepath.Dir(path))
	return nil
}

// BackedUp makes a backup in a working file beside the database and hands it to
// use, with its length in bytes. It is gone when use has returned.
func (s *Store) BackedUp(ctx context.Context, use func(size int64, backup io.Reader) error) (err error) {
	if err := s.roomForCopy(); err != nil {
		return err
	}
	dir, err := os.MkdirTemp(s.dir, backupWork)
	if err != nil {
		return &Error{Path: s.dir, Reason: ErrReadOnly, Err: err}
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	path := filepath.Join(dir, "backup")
	if err := s.Backup(ctx, path); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	return use(info.Size(), f)
}

// backupWork is the pattern of directories that BackedUp works in.
const backupWork = ".tautlog-saving-*"

// sweep removes what a daemon that was killed left of BackedUp.
func (s *Store) sweep() {
	left, _ := filepath.Glob(filepath.Join(s.dir, backupWork)) // a wrong pattern is its only error
	for _, dir := range left {
		_ = os.RemoveAll(dir) // tried again at the next start
	}
}

// spare is how much room a copy leaves on the disk for what is recorded
// meanwhile: a day of a cell at 1 kHz and more.
const spare = 256 << 20

// roomForCopy refuses where a copy of the store would fill the disk that is
// recorded to.
func (s *Store) roomForCopy() error {
	size, err := s.Size()
	if err != nil {
		return err
	}
	return roomFor(s.dir, size, words.Say("store.backup.elsewhere"))
}

// roomFor refuses where size bytes in dir would leave less than what is recorded
// meanwhile takes.
func roomFor(dir string, size int64, instead string) error {
	free, known := room(dir)
	if !known || free >= uint64(size)+spare {
		return nil
	}
	return &Error{Path: dir, Reason: ErrRoom, Hint: words.Say("store.room.free", size>>20, spare>>20, free>>20, instead)}
}

// Leaving reads what is to be kept in dir from a file that comes, for as long as
// that leaves room on the disk for what is recorded meanwhile. Then it gives
// ErrRoom, with what to do instead.
func Leaving(from io.Reader, dir, instead string) io.Reader {
	return &leaving{from: from, dir: dir, instead: instead}
}

type leaving struct {
	from         io.Reader
	dir, instead string
	read         int64
	look         int64 // when that much was read, there is a look at the disk
}

func (l *leaving) Read(p []byte) (int, error) {
	if l.read >= l.look {
		if free, known := room(l.dir); known && free < spare {
			return 0, &Error{Path: l.dir, Reason: ErrRoom, Hint: words.Say("store.room.came", l.read>>20, spare>>20, l.instead)}
		}
		l.look += 1 << 20
	}
	n, err := l.from.Read(p)
	l.read += int64(n)
	return n, err
}

// Size is how many bytes the store takes on the disk.
func (s *Store) Size() (size int64, err error) {
	for _, suffix := range []string{"", "-wal"} {
		info, err := os.Stat(s.databasePath() + suffix)
		if err != nil && (suffix == "" || !errors.Is(err, fs.ErrNotExist)) {
			return 0, &Error{Path: s.dir, Reason: ErrGone, Err: err}
		}
		if err == nil {
			size += info.Size()
		}
	}
	return size, nil
}

// copyInto makes a copy of the database without its free pages. It takes a
// connection that is no reader's: those refuse every statement that writes,
// even into another file.
func (s *Store) copyInto(ctx context.Context, path string) error {
	from, err := s.connect(s.readingMode()...)
	if err != nil {
		return err
	}
	_, err = from.ExecContext(ctx, `VACUUM INTO ?`, path)
	return errors.Join(s.explain("store: back up", err), from.Close())
}

// checkCopy reads the whole copy of a store in dir.
func checkCopy(ctx context.Context, dir string) error {
	made, err := OpenReader(dir)
	if err != nil {
		return err
	}
	return errors.Join(made.Integrity(ctx), made.Close())
}

// Restored tells what Restore did.
type Restored struct {
	Aside string // the database that was there before, under its new name; empty where there was none
}

// Restore makes the store in dir out of a file that Backup made. The file is
// copied, brought to the present format and checked by Integrity before
// anything changes. A store that is in dir already is refused with
// ErrConflict, or where aside is true kept beside the restored one under the
// name that Restored tells. A daemon that has it open is ErrLocked. Nobody is
// signed in there: a phone that was lost and signed out since would be again.
func Restore(ctx context.Context, file, dir string, aside bool, now time.Time) (Restored, error) {
	in, err := os.Open(file)
	if err != nil {
		return Restored{}, words.Error("store.restore.copy", file, err)
	}
	defer in.Close()
	return restore(ctx, in, file, dir, aside, now)
}

// RestoreNew makes a store in a new directory out of a backup of size bytes that
// comes from in; a negative size is not known. Name is what errors call it. A
// directory that is there already is refused with ErrConflict, a backup that would
// get the disk too full to record with ErrRoom, and a directory that nothing was
// restored into is not left behind.
func RestoreNew(ctx context.Context, in io.Reader, size int64, name, dir string) (err error) {
	if size >= 0 {
		if err := roomFor(filepath.Dir(dir), size, words.Say("store.restore.elsewhere")); err != nil {
			return err
		}
	}
	if err := os.Mkdir(dir, 0o750); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return &Error{Path: dir, Reason: ErrConflict, Hint: words.Say("store.restore.there")}
		}
		return &Error{Path: dir, Reason: ErrReadOnly, Hint: words.Say("store.readonly.do"), Err: err}
	}
	if _, err = restore(ctx, Leaving(in, dir, words.Say("store.restore.elsewhere")), name, dir, false, time.Time{}); err != nil {
		return errors.Join(err, os.RemoveAll(dir))
	}
	return nil
}

// restore restores what comes from in, which errors call by its name.
func restore(ctx context.Context, in io.Reader, name, dir string, aside bool, now time.Time) (done Restored, err error) {
	s := &Store{dir: dir, options: Options{}.withDefaults()}
	if err := s.makeDir(); err != nil {
		return done, err
	}
	if err := s.takeLock(); err != nil {
		return done, errors.Join(err, s.Close())
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	_, err = os.Lstat(s.databasePath())
	there := err == nil
	if there && !aside {
		return done, &Error{Path: dir, Reason: ErrConflict, Hint: words.Say("store.restore.aside")}
	}
	work, err := os.MkdirTemp(dir, ".tautlog-restore-*")
	if err != nil {
		return done, &Error{Path: dir, Reason: ErrReadOnly, Hint: words.Say("store.readonly.do"), Err: err}
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	if err := unpack(ctx, in, name, work); err != nil {
		return done, err
	}
	if there {
		done.Aside = filepath.Join(dir, "tautlog.before-"+now.UTC().Format("20060102T150405Z")+".db")
		if err := s.setAside(ctx, done.Aside); err != nil {
			return done, err
		}
	}
	if err := os.Rename(filepath.Join(work, databaseName), s.databasePath()); err != nil {
		return done, &Error{Path: dir, Reason: ErrReadOnly, Err: err}
	}
	SyncDirectory(dir)
	return done, nil
}

// unpack makes a checked store of the present format in the directory work
// out of a backup.
func unpack(ctx context.Context, in io.Reader, name, work string) error {
	made := filepath.Join(work, databaseName)
	if err := keepFile(in, made); err != nil {
		if errors.Is(err, ErrRoom) {
			return err
		}
		return words.Error("store.restore.copy", name, err)
	}
	if info, err := os.Stat(made); err != nil || info.Size() == 0 { // which would become a new store
		return &Error{Path: name, Reason: ErrNotStore, Err: err, Hint: words.Say("store.restore.nothing")}
	}
	copied, err := Open(work, Options{})
	if err == nil {
		err = errors.Join(copied.Integrity(ctx), copied.EndSessions(ctx, 0), copied.Close())
	}
	if err == nil {
		err = syncFile(made)
	}
	if ours, ok := errors.AsType[*Error](err); ok { // it names the working copy, which is gone
		return &Error{Path: name, Reason: ours.Reason, Err: ours.Err, Hint: words.Say("store.restore.nothing")}
	}
	if err != nil {
		return words.Error("store.restore.failed", name, err)
	}
	return nil
}

// setAside gives the database that is there a second name, with all that is in
// its write-ahead log. Its first name stays until the restored one takes it,
// so that at no moment there is no store.
func (s *Store) setAside(ctx context.Context, path string) error {
	if err := s.openWriter(); err != nil {
		return err
	}
	_, err := s.writer.ExecContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`)
	if err := errors.Join(s.explain("store: restore", err), s.writer.Close()); err != nil {
		return err
	}
	for _, suffix := range []string{"-wal", "-shm"} {
		if err := os.Remove(s.databasePath() + suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return &Error{Path: s.dir, Reason: ErrBusy, Hint: words.Say("store.restore.busy"), Err: err}
		}
	}
	if err := os.Link(s.databasePath(), path); err == nil {
		return nil
	}
	if err := copyFile(s.databasePath(), path); err != nil { // a file system without second names
		return &Error{Path: s.dir, Reason: ErrDisk, Hint: words.Say("store.restore.notaside"), Err: err}
	}
	return nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	return keepFile(in, to)
}

// keepFile writes what comes from in into a new file, down to the disk.
func keepFile(in io.Reader, to string) error {
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o640)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// SyncDirectory makes a new name in a directory last. Not every system lets a
// directory be synced; the file itself is on the disk by then.
func SyncDirectory(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
