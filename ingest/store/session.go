package store

import (
	"context"
	"database/sql"
	"time"
)

// Session is a browser that somebody is signed in with. The store knows only a
// hash of its secret.
type Session struct {
	ID      int64
	Person  Person // without the password
	Device  string // what the browser calls itself
	Address string // where it was last seen
	Made    time.Time
	Seen    time.Time // last use; roughly, see TouchSession
	Ends    time.Time // it is worth nothing from then on
}

// StartSession keeps a session under the hash of its secret, and forgets those
// that have ended.
func (s *Store) StartSession(ctx context.Context, hash string, n Session) (Session, error) {
	err := s.write(ctx, "store: sign in", func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM sessions WHERE ends <= ?`, n.Made.UnixNano()); err != nil {
			return err
		}
		r, err := tx.ExecContext(ctx, `INSERT INTO sessions (hash, person, device, address, made, seen, ends) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			hash, n.Person.ID, n.Device, n.Address, n.Made.UnixNano(), n.Seen.UnixNano(), n.Ends.UnixNano())
		if err != nil {
			return err
		}
		n.ID, err = r.LastInsertId()
		return err
	})
	return n, err
}

const sessionColumns = `SELECT s.id, s.device, s.address, s.made, s.seen, s.ends, p.id, p.name, p.role
	FROM sessions s JOIN people p ON p.id = s.person `

func readSession(row scan) (n Session, err error) {
	var made, seen, ends int64
	err = row(&n.ID, &n.Device, &n.Address, &made, &seen, &ends, &n.Person.ID, &n.Person.Name, &n.Person.Role)
	n.Made, n.Seen, n.Ends = time.Unix(0, made).UTC(), time.Unix(0, seen).UTC(), time.Unix(0, ends).UTC()
	return n, err
}

// SessionByHash gives the session with that hash of its secret, with the role
// that its person has now, or ErrNotFound. It may have ended.
func (s *Store) SessionByHash(ctx context.Context, hash string) (n Session, err error) {
	err = s.read(ctx, "store: find session", func(tx *sql.Tx) error {
		n, err = readSession(tx.QueryRowContext(ctx, sessionColumns+`WHERE s.hash = ?`, hash).Scan)
		return err
	})
	return n, err
}

// Sessions gives all sessions, the last seen first.
func (s *Store) Sessions(ctx context.Context) (out []Session, err error) {
	err = s.query(ctx, "store: list sessions", func(row scan) error {
		n, err := readSession(row)
		out = append(out, n)
		return err
	}, sessionColumns+`ORDER BY s.seen DESC, s.id DESC`)
	return out, err
}

// TouchSession notes when and where a session was used and until when it holds.
func (s *Store) TouchSession(ctx context.Context, n Session) error {
	return s.write(ctx, "store: note the use of a session", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE sessions SET seen = ?, ends = ?, address = ? WHERE id = ?`, n.Seen.UnixNano(), n.Ends.UnixNano(), n.Address, n.ID)
		return err
	})
}

// EndSession ends one session; one that is not there is ErrNotFound.
func (s *Store) EndSession(ctx context.Context, id int64) error {
	return s.write(ctx, "store: sign out", func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, `DELETE FROM sessions WHERE id = ?`, id)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return ErrNotFound
		}
		return nil
	})
}

// EndSessions ends all sessions and passes of a person, or with 0 everybody's.
func (s *Store) EndSessions(ctx context.Context, person int64) error {
	return s.write(ctx, "store: sign out", func(tx *sql.Tx) error {
		for _, table := range []string{"sessions", "passes"} {
			if _, err := tx.ExecContext(ctx, `DELETE FROM `+table+` WHERE ? IN (person, 0)`, person); err != nil {
				return err
			}
		}
		return nil
	})
}

// AddPass keeps the hash of a pass that signs a person in once, until it ends,
// in place of an earlier one of the same person. Those that have ended by now
// are forgotten.
func (s *Store) AddPass(ctx context.Context, hash string, person int64, now, ends time.Time) error {
	return s.write(ctx, "store: make a pass", func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM passes WHERE ends <= ? OR person = ?`, now.UnixNano(), person); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO passes (hash, person, ends) VALUES (?, ?, ?)`, hash, person, ends.UnixNano())
		return err
	})
}

// PassFor says whom a pass signs in that has not ended, or gives ErrNotFound.
func (s *Store) PassFor(ctx context.Context, hash string, now time.Time) (p Person, err error) {
	err = s.read(ctx, "store: find a pass", func(tx *sql.Tx) error {
		p, err = passIn(ctx, tx, hash, now)
		return err
	})
	return p, err
}

// TakePass uses a pass up and says whom it signs in. Of several that use it at
// once, one gets the person and the others ErrNotFound.
func (s *Store) TakePass(ctx context.Context, hash string, now time.Time) (p Person, err error) {
	err = s.write(ctx, "store: use a pass", func(tx *sql.Tx) error {
		if p, err = passIn(ctx, tx, hash, now); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM passes WHERE hash = ?`, hash)
		return err
	})
	return p, err
}

func passIn(ctx context.Context, tx *sql.Tx, hash string, now time.Time) (Person, error) {
	return personIn(ctx, tx, `id = (SELECT person FROM passes WHERE hash = ? AND ends > ?)`, hash, now.UnixNano())
}
