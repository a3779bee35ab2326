package store

import (
	"context"
	"fmt"

	"tautlog/analysis/life"
)

// ItemUses gives what an item was through, the latest pull first: all of it in
// one read of the links, for life.Of, which joins what two cells saw of one pull. The item is that row of the register, by
// whatever names it went.
func (s *Store) ItemUses(ctx context.Context, item int64) (out []life.Use, err error) {
	err = s.query(ctx, fmt.Sprintf("store: read the pulls of item %d", item), func(row scan) error {
		u, err := readUse(row)
		if err != nil {
			return err
		}
		out = append(out, u)
		return nil
	}, `SELECT pull, start_ns, kind, ground, doc FROM pull_items WHERE item = ? AND start_ns >= `+counting+` ORDER BY start_ns DESC, pull DESC`, item)
	return out, err
}

// PullItems gives, for each item of a pull that the register knows, its ID
// there, by gear.Item.Key of the pull's copy.
func (s *Store) PullItems(ctx context.Context, pull int64) (map[string]int64, error) {
	out := map[string]int64{}
	err := s.query(ctx, fmt.Sprintf("store: read the gear of pull %d", pull), func(row scan) error {
		var key string
		var id int64
		err := row(&key, &id)
		out[key] = id
		return err
	}, `SELECT key, item FROM pull_items WHERE pull = ? AND item IS NOT NULL`, pull)
	return out, err
}
