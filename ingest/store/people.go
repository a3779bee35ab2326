package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"

	"tautlog/calc/words"
)

// Person is somebody who may use the pages from another machine. What the
// roles may do and how passwords are hashed is decided by who signs them in.
type Person struct {
	ID       int64     `json:"-"`
	Name     string    `json:"name"` // unique, whatever its case
	Role     string    `json:"role"` // operator or viewer
	Password string    `json:"-"`    // its hash; empty: none, signed in by passes only
	Made     time.Time `json:"-"`    // set by the store
}

// SavePerson adds a person, or with an ID changes one, and gives it as it is
// kept. A name that another one has is ErrConflict. The journal gets the name
// and the role; of the password only that it was set.
func (s *Store) SavePerson(ctx context.Context, p Person) (Person, error) {
	err := s.write(ctx, "store: save person", func(tx *sql.Tx) error {
		var taken int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM people WHERE name = ? AND id <> ?`, p.Name, p.ID).Scan(&taken); err != nil {
			return err
		}
		if taken > 0 {
			return refuse(ErrConflict, words.Error("store.person", p.Name))
		}
		return s.putPerson(ctx, tx, &p)
	})
	return p, err
}

func (s *Store) putPerson(ctx context.Context, tx *sql.Tx, p *Person) error {
	now := s.options.Now().UTC()
	if p.ID == 0 {
		p.Made = now
		r, err := tx.ExecContext(ctx, `INSERT INTO people (name, role, password, made) VALUES (?, ?, ?, ?)`, p.Name, p.Role, p.Password, now.UnixNano())
		if err != nil {
			return err
		}
		if p.ID, err = r.LastInsertId(); err != nil {
			return err
		}
		return s.enter(ctx, tx, now, "person", p.ID, nil, p.entry(p.Password != ""))
	}
	was, err := personIn(ctx, tx, `id = ?`, p.ID)
	if err != nil {
		return err
	}
	p.Made = was.Made
	if _, err := tx.ExecContext(ctx, `UPDATE people SET name = ?, role = ?, password = ? WHERE id = ?`, p.Name, p.Role, p.Password, p.ID); err != nil {
		return err
	}
	return s.enter(ctx, tx, now, "person", p.ID, was.entry(false), p.entry(p.Password != was.Password))
}

// entry is what the journal tells of a person.
func (p Person) entry(password bool) []byte {
	doc, err := json.Marshal(struct {
		Person
		Password bool `json:"password_set,omitzero"`
	}{p, password})
	if err != nil {
		panic("store: a person that is no JSON: " + err.Error())
	}
	return doc
}

// RemovePerson removes a person and signs them out everywhere.
func (s *Store) RemovePerson(ctx context.Context, id int64) error {
	return s.write(ctx, "store: remove person", func(tx *sql.Tx) error {
		was, err := personIn(ctx, tx, `id = ?`, id)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM people WHERE id = ?`, id); err != nil {
			return err
		}
		return s.enter(ctx, tx, s.options.Now().UTC(), "person", id, was.entry(false), nil)
	})
}

const personColumns = `SELECT id, name, role, password, made FROM people WHERE `

func readPerson(row scan) (p Person, err error) {
	var made int64
	err = row(&p.ID, &p.Name, &p.Role, &p.Password, &made)
	p.Made = time.Unix(0, made).UTC()
	return p, err
}

func personIn(ctx context.Context, tx *sql.Tx, where string, args ...any) (Person, error) {
	return readPerson(tx.QueryRowContext(ctx, personColumns+where, args...).Scan)
}

// People gives everybody by name.
func (s *Store) People(ctx context.Context) (out []Person, err error) {
	err = s.query(ctx, "store: list people", func(row scan) error {
		p, err := readPerson(row)
		out = append(out, p)
		return err
	}, personColumns+`true ORDER BY name`)
	return out, err
}

// Person gives the person with that ID, or ErrNotFound.
func (s *Store) Person(ctx context.Context, id int64) (Person, error) {
	return s.person(ctx, `id = ?`, id)
}

// PersonByName gives the person of that name, whatever its case, or
// ErrNotFound.
func (s *Store) PersonByName(ctx context.Context, name string) (Person, error) {
	return s.person(ctx, `name = ?`, name)
}

func (s *Store) person(ctx context.Context, where string, arg any) (p Person, err error) {
	err = s.read(ctx, "store: find person", func(tx *sql.Tx) error {
		p, err = personIn(ctx, tx, where, arg)
		return err
	})
	return p, err
}
