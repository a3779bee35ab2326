package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"tautlog/calc/words"
)

// Each file of migrations is one version of the format, in order of name. A
// file that has been released is never changed: the next version is a new
// file.
//
//go:embed migrations/*.sql
var migrations embed.FS

// applicationID marks the database as ours ("TAUT"), so that a database of
// another program is not taken for an empty store.
const applicationID = 0x54415554

// formatVersion is the version that this program writes.
func formatVersion() int { return len(migrationNames()) }

func migrationNames() []string {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		panic("store: " + err.Error())
	}
	return names
}

// migrate brings the database to the present format, one version after the
// other, each in its own transaction.
func (s *Store) migrate(ctx context.Context) error {
	version, err := s.version(ctx, s.writer)
	if err != nil {
		return err
	}
	for i, name := range migrationNames()[min(version, formatVersion()):] {
		if err := s.apply(ctx, name, version+i+1); err != nil {
			return words.Error("store.migrate", version+i+1, err)
		}
	}
	return nil
}

func (s *Store) apply(ctx context.Context, name string, version int) error {
	text, err := migrations.ReadFile(name)
	if err != nil {
		return err
	}
	tx, err := s.writer.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // no effect once committed
	script := fmt.Sprintf("%s;\nPRAGMA application_id = %d;\nPRAGMA user_version = %d;", text, applicationID, version)
	if _, err := tx.ExecContext(ctx, script); err != nil {
		return err
	}
	switch version {
	case linkedFormat:
		err = linkAll(ctx, tx)
	case searchedFormat:
		err = writeAllWords(ctx, tx)
	}
	if err != nil {
		return err
	}
	return tx.Commit()
}

// linkedFormat is the format since which the links from gear to pulls are as
// link.go writes them. They are there since format 3; a store that comes from
// before gets them with this one.
const linkedFormat = 9

// version reads the version of the database: 0 when it is new and empty. It
// refuses one that is not ours or newer than this program.
func (s *Store) version(ctx context.Context, db *sql.DB) (version int, err error) {
	var id, objects int
	const ask = `SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version FROM pragma_user_version),
		(SELECT count(*) FROM sqlite_schema)`
	if err := db.QueryRowContext(ctx, ask).Scan(&id, &version, &objects); err != nil {
		return 0, err
	}
	switch {
	case id == 0 && version == 0 && objects == 0:
		return 0, nil
	case id != applicationID:
		return 0, &Error{Path: s.dir, Reason: ErrNotStore, Hint: words.Say("store.foreign.do", databaseName)}
	case version > formatVersion():
		return 0, &Error{Path: s.dir, Reason: ErrNewer, Hint: words.Say("store.newer.do", version, formatVersion())}
	}
	return version, nil
}

// checkFormat refuses, for a reader, a store that is not of the present
// format.
func (s *Store) checkFormat(ctx context.Context) error {
	version, err := s.version(ctx, s.reader)
	if err != nil {
		return err
	}
	if version < formatVersion() {
		return &Error{Path: s.dir, Reason: ErrOlder, Hint: words.Say("store.older.do", version, formatVersion())}
	}
	return nil
}
