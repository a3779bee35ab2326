package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"tautlog/calc/words"
)

// pulls reads every pull and compares the links with it.
func (c *checker) pulls(ctx context.Context) error {
	return c.each(ctx, pullColumns, func(row scan) error {
		p, err := readPull(row)
		if errors.Is(err, ErrDamaged) {
			c.add(err)
			return nil
		}
		if err != nil {
			return err
		}
		c.limits(p.Pull)
		for _, t := range linkTables {
			if err := c.links(ctx, t, p.Pull); err != nil {
				return err
			}
		}
		return c.besideNoted(ctx, p.Pull)
	})
}

// besideNoted looks for links of a pull that overlaps one of another cell and
// that do not say so.
func (c *checker) besideNoted(ctx context.Context, p Pull) error {
	if p.Aside != nil {
		return nil
	}
	near, err := overlapped(ctx, c.tx, p)
	if err != nil || len(near) == 0 {
		return err
	}
	return c.each(ctx, `SELECT key FROM pull_items WHERE pull = ? AND beside = 0`, func(row scan) error {
		var key string
		err := row(&key)
		c.add(words.Error("store.damaged.beside", ErrDamaged, key, p.ID))
		return err
	}, p.ID)
}

// links compares the links of a pull with those that it should have.
func (c *checker) links(ctx context.Context, t linkTable, p Pull) error {
	type facts struct {
		start        int64
		kind, ground string
		doc          string
		most         sql.NullFloat64
	}
	want := map[string]facts{}
	for _, l := range t.links(p) {
		doc, err := json.Marshal(l.doc)
		if err != nil {
			return err
		}
		start, _ := p.when()
		want[l.key] = facts{start, string(p.Kind), p.Ground, string(doc), l.most}
	}
	err := c.each(ctx, `SELECT key, start_ns, kind, ground, doc, `+cmp.Or(t.most, `NULL`)+` FROM `+t.table+` WHERE pull = ?`, func(row scan) error {
		var key string
		var is facts
		err := row(&key, &is.start, &is.kind, &is.ground, &is.doc, &is.most)
		if want[key] != is {
			c.add(words.Error("store.damaged.link", ErrDamaged, thing(t.column), key, p.ID))
		}
		delete(want, key)
		return err
	}, p.ID)
	for key := range want {
		c.add(words.Error("store.damaged.nolink", ErrDamaged, thing(t.column), key, p.ID))
	}
	return err
}

// linksLeft looks for links that know only a key which a document has.
func (c *checker) linksLeft(ctx context.Context) error {
	for _, t := range linkTables {
		err := c.each(ctx, `SELECT l.pull, l.key FROM `+t.table+` l JOIN `+t.documents+` d ON d.key = l.key WHERE l.`+t.column+` IS NULL`, func(row scan) error {
			var pull int64
			var key string
			err := row(&pull, &key)
			c.add(words.Error("store.damaged.unlinked", ErrDamaged, pull, thing(t.column), key))
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}
