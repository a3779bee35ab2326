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
	// and the like, in any order. Letters A to Z count the same large and small.
	Text string
	// After is a key (gear.Item.Key, or a name): only what comes behind it in
	// the list.
	After string
	Limit int
	// Removed chooses what was removed, the latest first, in place of what is
	// there. After has no meaning then.
	Removed bool
}

// FindItems gives the items of gear that a search chooses, by their keys.
func (s *Store) FindItems(ctx context.Context, f Find) ([]Document[gear.Item], error) {
	return itemShelf().search(ctx, s, f)
}

// FindRigs gives the rigs that a search chooses, by name. Their vehicles' names
// are searched too.
func (s *Store) FindRigs(ctx context.Context, f Find) ([]Document[rig.Rig], error) {
	return rigShelf().search(ctx, s, f)
}

// FindVehicles gives the vehicles that a search chooses, by name.
func (s *Store) FindVehicles(ctx context.Context, f Find) ([]Document[gear.Vehicle], error) {
	return vehicleShelf().search(ctx, s, f)
}

// search goes along an index that holds all it looks at, and reads only the
// documents that it gives.
func (h shelf[T]) search(ctx context.Context, s *Store, f Find) ([]Document[T], error) {
	var c conditions
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
