package store

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/life"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// rigOf is a rig that can be solved: cell, strap, and a bridle without an
// equaliser, so that a leg may take all.
func rigOf(name, strap, left, right string) rig.Rig {
	item := func(id string, kind gear.Kind, mbs unit.Force) rig.Use {
		return rig.Use{Item: gear.Item{ID: id, Name: id, Kind: kind, Ratings: []gear.Rating{{Value: mbs, Basis: gear.MBS}}}}
	}
	return rig.Rig{
		Name: name, Pulling: gear.Vehicle{Name: "puller"}, Stuck: gear.Vehicle{Name: "stuck"},
		Chain: []rig.Link{
			rig.InLine(item("c1", gear.LoadCell, 200e3).Item), rig.InLine(item(strap, gear.RecoveryStrap, 110e3).Item),
			{Bridle: &rig.Bridle{
				Included: unit.Angle(1), Left: []rig.Use{item(left, gear.RecoveryPoint, 90e3)}, Right: []rig.Use{item(right, gear.RecoveryPoint, 90e3)},
			}},
		},
	}
}

func saveItem(t testing.TB, s *Store, id string) int64 {
	t.Helper()
	d, err := s.SaveItem(context.Background(), Document[gear.Item]{Value: gear.Item{ID: id, Name: id, Kind: gear.RecoveryStrap}})
	require.NoError(t, err)
	return d.ID
}

func pullIDs(ps []Pull) (out []int64) {
	for _, p := range ps {
		out = append(out, p.ID)
	}
	return out
}

func TestGearIsLinkedToItsPulls(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	strap := saveItem(t, s, "s1")
	r := rigOf("long", "s1", "p1", "p2")
	p, err := s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+second), Ground: "clay", Settled: true})
	require.NoError(t, err)

	uses, err := s.ItemUses(ctx, strap)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	require.Equal(t, p.ID, uses[0].Pull)
	require.Equal(t, "clay", uses[0].Ground)
	require.InDelta(t, 1, uses[0].Hung.Factor, 1e-12)
	require.Equal(t, p.Found.Peak, uses[0].Peak)

	// An item that is registered later finds the pulls that it was in.
	point := saveItem(t, s, "p2")
	uses, err = s.ItemUses(ctx, point)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	require.InDelta(t, 1, *uses[0].Hung.Alone, 1e-12, "no equaliser: one leg may take all")

	// The verdicts are those of the ratings that the item has now.
	it := gear.Item{ID: "s1", Name: "s1", Kind: gear.RecoveryStrap, Ratings: []gear.Rating{{Value: 41e3, Basis: gear.MBS}}}
	require.Equal(t, rating.OverBreaking, life.Of(it, uses, "", "").Pulls[0].Verdict)
	it.Ratings[0].Value = 400e3
	require.Equal(t, rating.NotJudged, life.Of(it, uses, "", "").Pulls[0].Verdict)

	// An edit of the rig takes an item out and puts another in.
	other := rigOf("short", "s2", "p1", "p2")
	p.Rig = &other
	_, err = s.SavePull(ctx, p)
	require.NoError(t, err)
	uses, err = s.ItemUses(ctx, strap)
	require.NoError(t, err)
	require.Empty(t, uses)
	known, err := s.PullItems(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, map[string]int64{"p2": point}, known)
	require.NoError(t, s.Integrity(ctx))
}

// TestTheCellThatReadCounts: in a rig with a cell in each leg of a bridle, what
// an item carried follows from the cell that the pull was read by, also after
// the cell has another name.
func TestTheCellThatReadCounts(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	ctx := t.Context()
	file, err := os.Open("../../testdata/rigs/two-cells.json")
	require.NoError(t, err)
	defer file.Close()
	r, err := rig.Decode(file)
	require.NoError(t, err)
	cell, err := s.SaveCell(ctx, Cell{Name: "River-2"})
	require.NoError(t, err)
	point := saveItem(t, s, "Otter front right point")
	p := Pull{Cell: cell.ID, Rig: &r, Found: foundAt(morning, morning+second), Settled: true}
	_, err = s.SavePull(ctx, p)
	require.NoError(t, err)
	cell.Name = "River-9"
	_, err = s.SaveCell(ctx, cell)
	require.NoError(t, err)
	p.Found.End += second // analysed again
	_, err = s.SavePull(ctx, p)
	require.NoError(t, err)
	uses, err := s.ItemUses(ctx, point)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	require.NotNil(t, uses[0].Hung, "its load is known")
	require.InDelta(t, 1, uses[0].Hung.Factor, 1e-12, "it is behind the cell that read")
	require.NoError(t, s.Integrity(ctx))
}

func TestAnItemKeepsItsHistoryUnderAnotherName(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	d, err := s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{Name: "strap", Kind: gear.RecoveryStrap}})
	require.NoError(t, err)
	r := rigOf("long", "", "p1", "p2")
	r.Chain[1].Item.Name = "strap"
	_, err = s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+second)})
	require.NoError(t, err)
	d.Value.ID = "s7"
	_, err = s.SaveItem(ctx, d)
	require.NoError(t, err)
	_, err = s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+2*second)})
	require.NoError(t, err, "a later analysis")
	uses, err := s.ItemUses(ctx, d.ID)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	require.NoError(t, s.Integrity(ctx))
}

// TestARigThatCannotBeSolvedStillTellsItsGear: it has no cell.
func TestARigThatCannotBeSolvedStillTellsItsGear(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	strap := saveItem(t, s, "s1")
	r := someRig("no cell")
	_, err := s.SavePull(t.Context(), Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+second)})
	require.NoError(t, err)
	uses, err := s.ItemUses(t.Context(), strap)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	require.Nil(t, uses[0].Hung)
}

// TestFilterAgainstAPlainList: any filter gives what going over all pulls
// gives, and pages joined give the whole.
func TestFilterAgainstAPlainList(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	other, err := s.SaveCell(ctx, Cell{Name: "other"})
	require.NoError(t, err)
	day, err := s.SaveDay(ctx, Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	items := map[string]int64{"s1": saveItem(t, s, "s1"), "s2": saveItem(t, s, "s2")}
	vehicles := map[string]int64{}
	for _, name := range []string{"puller", "stuck"} {
		v, err := s.SaveVehicle(ctx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: name}})
		require.NoError(t, err)
		vehicles[name] = v.ID
	}
	rng := rand.New(rand.NewPCG(7, 7))
	pick := func(of ...string) string { return of[rng.IntN(len(of))] }
	var all []Pull
	for i := range int64(120) {
		p := Pull{Cell: cell, Found: foundAt(i/2*second, i/2*second+1), Ground: pick("", "clay", "sand")}
		p.Kind = pull.Kind(pick("kinetic", "steady", "proof"))
		if i%2 == 1 { // two pulls begin at one moment
			p.Cell = other.ID
		}
		if rng.IntN(2) == 0 {
			p.Day = day.ID
		}
		if rng.IntN(4) > 0 {
			r := rigOf("r", pick("s1", "s2", "s3"), "p1", "p2")
			r.Pulling.Name, r.Stuck.Name = pick("puller", "stuck", "tree"), pick("puller", "stuck")
			p.Rig = &r
		}
		saved, err := s.SavePull(ctx, p)
		require.NoError(t, err)
		all = append([]Pull{saved}, all...)
	}
	nameOf := func(m map[string]int64, id int64) string {
		for name, have := range m {
			if have == id {
				return name
			}
		}
		return ""
	}
	chosen := func(f PullFilter, p Pull) bool {
		has := func(names ...string) func(string) bool {
			return func(n string) bool { return slices.Contains(names, n) }
		}
		switch {
		case f.From != 0 && p.Found.Start < f.From, f.To != 0 && p.Found.Start >= f.To, f.Cell != 0 && p.Cell != f.Cell,
			f.Day != 0 && p.Day != f.Day, f.Kind != "" && p.Kind != f.Kind, f.Ground != "" && p.Ground != f.Ground:
			return false
		case (f.Item != 0 || f.Vehicle != 0) && p.Rig == nil,
			f.Item != 0 && !has(p.Rig.Chain[1].Item.ID)(nameOf(items, f.Item)),
			f.Vehicle != 0 && !has(p.Rig.Pulling.Name, p.Rig.Stuck.Name)(nameOf(vehicles, f.Vehicle)):
			return false
		}
		return true
	}
	rapid.Check(t, func(t *rapid.T) {
		maybe := func(label string, of ...int64) int64 { return rapid.SampledFrom(append(of, 0)).Draw(t, label) }
		f := PullFilter{
			From: maybe("from", 20*second), To: maybe("to", 50*second), Cell: maybe("cell", cell, other.ID), Day: maybe("day", day.ID),
			Item: maybe("item", items["s1"], items["s2"]), Vehicle: maybe("vehicle", vehicles["puller"], vehicles["stuck"]),
			Kind:   rapid.SampledFrom([]pull.Kind{"", pull.Kinetic, pull.Steady}).Draw(t, "kind"),
			Ground: rapid.SampledFrom([]string{"", "clay", "rock"}).Draw(t, "ground"),
		}
		var want []Pull
		for _, p := range all {
			if chosen(f, p) {
				want = append(want, p)
			}
		}
		var got []Pull
		for f.Limit = rapid.IntRange(1, 60).Draw(t, "limit"); ; {
			page, err := s.Pulls(ctx, f)
			require.NoError(t, err)
			got = append(got, page...)
			if len(page) < f.Limit {
				break
			}
			f.Before = page[len(page)-1].ID
		}
		require.Equal(t, pullIDs(want), pullIDs(got), "%+v", f)
	})
	_, err = s.Pulls(ctx, PullFilter{Before: 9999})
	require.ErrorIs(t, err, ErrNotFound)
}

// TestEveryFilterGoesAlongAnIndex: the database's own plan never scans the
// table of pulls and never sorts.
func TestEveryFilterGoesAlongAnIndex(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	p, err := s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(1, 2)})
	require.NoError(t, err)
	for i := range 1 << 7 {
		f := PullFilter{Limit: 50}
		set(i, 0, &f.Item, 1)
		set(i, 1, &f.Vehicle, 1)
		set(i, 2, &f.Kind, pull.Kinetic)
		set(i, 3, &f.Ground, "clay")
		set(i, 4, &f.Day, 1)
		set(i, 5, &f.Before, p.ID)
		set(i, 6, &f.Cell, 1)
		var plan []string
		require.NoError(t, s.read(t.Context(), "plan", func(tx *sql.Tx) error {
			c, err := f.conditions(t.Context(), tx)
			require.NoError(t, err)
			return eachIn(t.Context(), tx, func(row scan) error {
				var a, b, n int
				var text string
				err := row(&a, &b, &n, &text)
				plan = append(plan, text)
				return err
			}, "EXPLAIN QUERY PLAN "+pullColumns+c.from+c.where()+` ORDER BY `+c.start+` DESC, `+c.id+` DESC LIMIT ?`, append(c.args, 50)...)
		}))
		all := strings.Join(plan, "\n")
		require.NotContains(t, all, "TEMP B-TREE", "%+v", f)
		require.NotRegexp(t, `SCAN pulls($|\n)`, all, "%+v", f)
	}
}

func set[T any](bits, bit int, to *T, v T) {
	if bits>>bit&1 == 1 {
		*to = v
	}
}

// TestMigrationLinksWhatIsThere: a store of format 2 with the same documents
// comes out with the same links as one that was written in this format.
func TestMigrationLinksWhatIsThere(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	saveItem(t, s, "s1")
	for i := range int64(450) {
		r := rigOf("r", fmt.Sprintf("s%d", i%3), "p1", "p2")
		_, err := s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(i*second, i*second+1), Ground: "clay"})
		require.NoError(t, err)
	}
	want := dump(t, s.writer)
	dir := t.TempDir()
	old := asFormat2(t, s, dir)
	_, err := old.Exec(`INSERT INTO pulls (cell, start_ns, end_ns, settled, edited, version, updated, doc) VALUES (1, -5, -4, 1, 0, 1, 0, 'no JSON')`)
	require.NoError(t, err)
	require.NoError(t, old.Close())
	migrated := open(t, dir, Options{})
	require.Equal(t, want, dump(t, migrated.writer))
	require.ErrorContains(t, migrated.Integrity(ctx), "pull 451", "what was damaged before is told, and keeps nothing else from being opened")
}

// asFormat2 copies documents and pulls of a store to a new one of format 2.
func asFormat2(t *testing.T, s *Store, dir string) *sql.DB {
	t.Helper()
	old := &Store{dir: dir, options: Options{}.withDefaults()}
	require.NoError(t, old.openWriter())
	for i, name := range migrationNames()[:2] {
		require.NoError(t, old.apply(t.Context(), name, i+1))
	}
	_, err := old.writer.Exec(`ATTACH ? AS new`, s.databasePath())
	require.NoError(t, err)
	for _, copied := range []struct{ table, columns string }{
		{"cells", "id, key, version, updated, doc"}, {"items", "id, key, version, updated, doc"},
		{"pulls", "id, cell, start_ns, end_ns, day, settled, edited, version, updated, doc"},
	} {
		_, err := old.writer.Exec(`INSERT INTO main.` + copied.table + ` (` + copied.columns + `) SELECT ` + copied.columns + ` FROM new.` + copied.table)
		require.NoError(t, err)
	}
	return old.writer
}

func dump(t *testing.T, db *sql.DB) (out []string) {
	t.Helper()
	rows, err := db.Query(`SELECT 'item ' || concat_ws('|', pull, key, coalesce(item, 0), start_ns, kind, ground, doc) FROM pull_items
		UNION ALL SELECT 'vehicle ' || concat_ws('|', pull, key, coalesce(vehicle, 0), start_ns, kind, ground, doc) FROM pull_vehicles ORDER BY 1`)
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		var line string
		require.NoError(t, rows.Scan(&line))
		out = append(out, line)
	}
	require.NoError(t, rows.Err())
	return out
}

// TestAPullIsFoundAgainAlongAnIndex: also among very many, without going over
// all that came before.
func TestAPullIsFoundAgainAlongAnIndex(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	long, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(0, 90*second)})
	require.NoError(t, err)
	_, err = s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(100*second, 101*second)})
	require.NoError(t, err)
	again, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(89*second, 95*second)})
	require.NoError(t, err)
	require.Equal(t, long.ID, again.ID)
	var plan []string
	require.NoError(t, s.read(ctx, "plan", func(tx *sql.Tx) error {
		return eachIn(ctx, tx, func(row scan) error {
			var a, b, n int
			var text string
			err := row(&a, &b, &n, &text)
			plan = append(plan, text)
			return err
		}, "EXPLAIN QUERY PLAN "+pullColumns+foundAgain, cell, 5, 6)
	}))
	all := strings.Join(plan, "\n")
	require.Contains(t, all, "(cell=? AND start_ns>? AND start_ns<?)")
	require.Contains(t, all, "pulls_by_length (cell=?)")
}
