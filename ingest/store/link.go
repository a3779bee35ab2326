package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"tautlog/analysis/life"
	"tautlog/calc/rig"
)

// link is a row that says that an item or a vehicle was in a pull.
type link struct {
	key  string
	doc  any
	most sql.NullFloat64 // of an item: life.Use.Most in newtons, for ItemsUsed
}

// linkTable is one of the two tables of links. Their rows follow from the pull,
// but for the document that a link points to: that is what had the key when the
// pull was linked first, so that a later one of the same name takes over no
// history.
type linkTable struct {
	table, column, documents string
	links                    func(Pull) []link
	most                     string // the column of link.most; empty: none
}

var linkTables = [...]linkTable{
	{"pull_items", "item", "items", itemLinks, "most"},
	{"pull_vehicles", "vehicle", "vehicles", vehicleLinks, ""},
}

func itemLinks(p Pull) (out []link) {
	if p.Rig == nil {
		return nil
	}
	for _, u := range life.Uses(p.Found, p.Kind, p.Settled, *p.Rig, p.Read) {
		l := link{key: u.Key, doc: u.Use}
		if most, known := u.Most(); known {
			l.most = sql.NullFloat64{Float64: float64(most), Valid: true}
		}
		out = append(out, l)
	}
	return out
}

// standing is the document of a vehicle's link.
type standing struct {
	Side rig.Side `json:"side"`
}

func vehicleLinks(p Pull) (out []link) {
	if p.Rig == nil {
		return nil
	}
	if name := p.Rig.Pulling.Name; name != "" {
		out = append(out, link{key: name, doc: standing{rig.PullingEnd}})
	}
	if name := p.Rig.Stuck.Name; name != "" && name != p.Rig.Pulling.Name {
		out = append(out, link{key: name, doc: standing{rig.StuckEnd}})
	}
	return out
}

// linkPull writes the links of a pull anew.
func linkPull(ctx context.Context, tx *sql.Tx, p Pull) error {
	for _, t := range linkTables {
		if err := t.write(ctx, tx, p); err != nil {
			return fmt.Errorf("store: link pull %d: %w", p.ID, err)
		}
	}
	return noteBeside(ctx, tx, p)
}

func (t linkTable) write(ctx context.Context, tx *sql.Tx, p Pull) error {
	known, err := t.known(ctx, tx, p.ID)
	if err != nil {
		return err
	}
	if len(known) > 0 {
		if _, err := tx.ExecContext(ctx, `DELETE FROM `+t.table+` WHERE pull = ?`, p.ID); err != nil {
			return err
		}
	}
	most, its := "", ""
	if t.most != "" {
		most, its = ", "+t.most, ", ?8"
	}
	insert := fmt.Sprintf(`INSERT INTO %s (pull, key, %s, start_ns, kind, ground, doc%s)
		VALUES (?1, ?2, coalesce(?3, (SELECT id FROM %s WHERE key = ?2)), ?4, ?5, ?6, ?7%s)`, t.table, t.column, most, t.documents, its)
	for _, l := range t.links(p) {
		doc, err := json.Marshal(l.doc)
		if err != nil {
			return refuse(ErrInvalid, err)
		}
		start, _ := p.when()
		args := []any{p.ID, l.key, known[l.key], start, p.Kind, p.Ground, string(doc)}
		if t.most != "" {
			args = append(args, l.most)
		}
		if _, err := tx.ExecContext(ctx, insert, args...); err != nil {
			return err
		}
	}
	return nil
}

// known gives the documents that a pull is linked to, by key.
func (t linkTable) known(ctx context.Context, tx *sql.Tx, pull int64) (map[string]sql.NullInt64, error) {
	out := map[string]sql.NullInt64{}
	err := eachIn(ctx, tx, func(row scan) error {
		var key string
		var id sql.NullInt64
		err := row(&key, &id)
		out[key] = id
		return err
	}, `SELECT key, `+t.column+` FROM `+t.table+` WHERE pull = ?`, pull)
	return out, err
}

// adopt links pulls that know only a key to the document that has it now.
func adopt(ctx context.Context, tx *sql.Tx, documents string, id int64, key string) error {
	for _, t := range linkTables {
		if t.documents != documents {
			continue
		}
		_, err := tx.ExecContext(ctx, `UPDATE `+t.table+` SET `+t.column+` = ? WHERE key = ? AND `+t.column+` IS NULL`, id, key)
		return err
	}
	return nil
}

// linkAll links every pull of a store of an older format anew. A damaged pull stays
// as it is, without links; Integrity tells of it.
func linkAll(ctx context.Context, tx *sql.Tx) error {
	const some = 200 // at a time: what is read must not be changed meanwhile
	for after := int64(0); ; {
		var read []storedPull
		err := eachIn(ctx, tx, func(row scan) error {
			p, err := readPull(row)
			after = p.ID
			read = append(read, p)
			if errors.Is(err, ErrDamaged) {
				read[len(read)-1].ID, err = 0, nil
			}
			return err
		}, pullColumns+`WHERE id > ? ORDER BY id LIMIT ?`, after, some)
		if err != nil {
			return err
		}
		for _, p := range read {
			if p.ID == 0 {
				continue
			}
			if err := linkPull(ctx, tx, p.Pull); err != nil {
				return err
			}
		}
		if len(read) < some {
			return nil
		}
	}
}
