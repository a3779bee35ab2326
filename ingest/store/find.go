package store

import (
	"context"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// Find chooses documents of a list. Zero fields choose everything.
type Find struct {
	// Text is words that a document must all have in its name, ID, kind, notes
	// and the like, in any order; of items gear.Item.Words says where. Letters A to Z
	// count the same large and small.
	Text string
	// After is a key (gear.Item.Key, or a name): only what comes behind it in
	// the list.
	After string
	Limit int
	// Removed chooses what was removed, the latest first, in place of what is
	// there. After has no meaning then.
	Removed bool
	// Kind, of items only, chooses those of one kind.
	Kind gear.Kind
	// Retired, of items only, chooses those that are retired, with gear.Yes, or
	// leaves them out, with gear.No.
	Retired gear.Answer
}

// FindItems gives the items of gear that a search chooses, by their keys.
func (s *Store) FindItems(ctx context.Context, f Find) ([]Document[gear.Item], error) {
	var c conditions
	if f.Kind != "" {
		// The index holds the words of the search: only what they leave is read.
		f.Text += " " + string(f.Kind)
		c.add(`doc ->> '$.kind' = ?`, string(f.Kind))
	}
	switch f.Retired {
	case gear.Yes:
		c.add(`doc ->> '$.retired' IS NOT NULL`)
	case gear.No:
		c.add(`doc ->> '$.retired' IS NULL`)
	case gear.NotKnown:
	}
	return itemShelf().search(ctx, s, f, c)
}

// FindRigs gives the rigs that a search chooses, by name. Their vehicles' names
// are searched too.
func (s *Store) FindRigs(ctx context.Context, f Find) ([]Document[rig.Rig], error) {
	return rigShelf().search(ctx, s, f, conditions{})
}

// FindVehicles gives the vehicles that a search chooses, by name.
func (s *Store) FindVehicles(ctx context.Context, f Find) ([]Document[gear.Vehicle], error) {
	return vehicleShelf().search(ctx, s, f, conditions{})
}

// search goes along an index that holds all it looks at, and reads only the
// documents that it gives.
func (h shelf[T]) search(ctx context.Context, s *Store, f Find, c conditions) ([]Document[T], error) {
	order := `key`
	if f.Removed {
		c.add(`removed IS NOT NULL`)
		order = `removed DESC, id DESC`
	} else {
		c.add(`removed IS NULL AND key > ?`, f.After)
	}
	for _, word := range strings.Fields(f.Text) {
		c.add(`search LIKE ? ESCAPE '\'`, "%"+literally.Replace(word)+"%")
	}
	ids := `SELECT id FROM ` + h.table + ` INDEXED BY ` + h.table + `_search` + c.where() + ` ORDER BY ` + order + ` LIMIT ?`
	return h.list(ctx, s, `WHERE id IN (`+ids+`) ORDER BY `+order, append(c.args, orAll(f.Limit))...)
}

// literally takes the meaning from what is a pattern in LIKE.
var literally = strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)
