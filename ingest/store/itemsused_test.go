package store

import (
	"database/sql"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// TestUsesAreCountedAsLivesAre: after any pulls of two cells, edits of rigs,
// later analyses and new items, what is counted with SQL along the changes is
// what the whole life of each item says.
func TestUsesAreCountedAsLivesAre(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(root, "")
		require.NoError(t, err)
		s, err := Open(dir, Options{})
		require.NoError(t, err)
		defer func() { require.NoError(t, s.Close()) }()
		ctx := t.Context()
		var cells []Cell
		for _, name := range []string{"c1", "c2"} {
			c, err := s.SaveCell(ctx, Cell{Name: name})
			require.NoError(t, err)
			cells = append(cells, c)
		}
		rigs := []rig.Rig{rigOf("a", "s1", "p1", "p2"), rigOf("b", "s2", "p1", "p3"), rigOf("c", "s1", "p3", "p2")}
		rigs[2].Chain = append(rigs[2].Chain[:1:1], append([]rig.Link{rig.InLine(gear.Item{Name: "c2", Kind: gear.LoadCell})}, rigs[2].Chain[1:]...)...)
		rigs[2].Chain[0].Item.ID = ""
		names := []string{"s1", "s2", "p1", "p2", "p3"}
		kept := map[string]int64{}
		used, seen := map[int64]gear.Used{}, int64(0)
		for range rapid.IntRange(1, 16).Draw(t, "steps") {
			switch rapid.SampledFrom([]string{"pull", "pull", "pull", "edit", "item", "look"}).Draw(t, "step") {
			case "pull":
				at := rapid.Int64Range(0, 40).Draw(t, "at") * second
				r := rapid.SampledFrom(rigs).Draw(t, "rig")
				p := Pull{Cell: rapid.SampledFrom(cells).Draw(t, "cell").ID, Rig: &r, Found: foundAt(at, at+rapid.Int64Range(1, 5).Draw(t, "long")*second)}
				p.Found.Peak = unit.Force(rapid.IntRange(1, 90).Draw(t, "peak")) * 1e3
				_, err := s.SavePull(ctx, p)
				require.NoError(t, err)
			case "edit":
				all, err := s.Pulls(ctx, PullFilter{})
				require.NoError(t, err)
				if len(all) == 0 {
					continue
				}
				p, r := rapid.SampledFrom(all).Draw(t, "pull"), rapid.SampledFrom(rigs).Draw(t, "rig")
				if p.Rig = &r; rapid.Bool().Draw(t, "no rig") {
					p.Rig = nil
				}
				_, err = s.SavePull(ctx, p)
				require.NoError(t, err)
			case "item":
				if id := rapid.SampledFrom(names).Draw(t, "item"); kept[id] == 0 {
					d, err := s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: id, Name: id, Kind: gear.RecoveryStrap}})
					require.NoError(t, err)
					kept[id] = d.ID
				}
			case "look":
				changed, now, err := s.ItemsUsed(ctx, seen)
				require.NoError(t, err)
				for id, u := range changed {
					used[id] = u
				}
				seen = now
			}
		}
		changed, now, err := s.ItemsUsed(ctx, seen)
		require.NoError(t, err)
		for id, u := range changed {
			used[id] = u
		}
		whole, again, err := s.ItemsUsed(ctx, 0)
		require.NoError(t, err)
		require.Equal(t, now, again)
		require.Equal(t, whole, used, "what was followed is what is read anew")
		none, _, err := s.ItemsUsed(ctx, now)
		require.NoError(t, err)
		require.Empty(t, none)
		for name, id := range kept {
			uses, err := s.ItemUses(ctx, id)
			require.NoError(t, err)
			require.Equal(t, life.UsedIn(uses), whole[id], name)
		}
		require.NoError(t, s.Integrity(ctx))
	})
}

// TestUsesAreCountedAlongIndexes: from the items that changed, not over all
// links, and of a pull that no other cell can have seen nothing but the index is
// read.
func TestUsesAreCountedAlongIndexes(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	for query, how := range map[string]string{plainUses: "COVERING INDEX", besideUses: "INDEX"} {
		var plan []string
		require.NoError(t, s.read(t.Context(), "plan", func(tx *sql.Tx) error {
			return eachIn(t.Context(), tx, func(row scan) error {
				var a, b, n int
				var text string
				err := row(&a, &b, &n, &text)
				plan = append(plan, text)
				return err
			}, "EXPLAIN QUERY PLAN "+query, 0)
		}))
		require.Contains(t, plan[0], "SEARCH items_used USING COVERING INDEX items_used_by_change (changed>?)")
		require.Contains(t, plan[1], "SEARCH l USING "+how+" pull_items_used (item=? AND beside=?)")
		require.NotContains(t, strings.Join(plan, ";"), "SCAN l")
	}
}

// TestALinkThatForgotTheOtherCellIsFound by Integrity.
func TestALinkThatForgotTheOtherCellIsFound(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	other, err := s.SaveCell(ctx, Cell{Name: "other"})
	require.NoError(t, err)
	r := rigOf("a", "s1", "p1", "p2")
	for _, c := range []int64{cell, other.ID} {
		_, err := s.SavePull(ctx, Pull{Cell: c, Rig: &r, Found: foundAt(0, second)})
		require.NoError(t, err)
	}
	require.NoError(t, s.Integrity(ctx))
	_, err = s.writer.Exec(`UPDATE pull_items SET beside = 0 WHERE key = 's1' AND pull = 1`)
	require.NoError(t, err)
	require.ErrorContains(t, s.Integrity(ctx), fmt.Sprintf("item %q to pull 1 does not say", "s1"))
}
