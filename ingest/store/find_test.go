package store

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

func TestFindItemsByTheirWords(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	for _, it := range []gear.Item{
		{ID: "s1", Name: "blue strap 9 m", Kind: gear.RecoveryStrap, Serial: "A_77"},
		{ID: "s2", Name: "red strap", Kind: gear.TreeStrap, Vehicle: "Mule", Notes: "100 % dry"},
		{ID: "s3", Name: "shackle", Kind: gear.BowShackle, Where: "rear LEFT"},
	} {
		_, err := s.SaveItem(ctx, Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
	for _, c := range []struct {
		find Find
		want []string
	}{
		{Find{}, []string{"s1", "s2", "s3"}},
		{Find{Text: "strap"}, []string{"s1", "s2"}},
		{Find{Text: " RED  tree "}, []string{"s2"}},
		{Find{Text: "strap mule"}, []string{"s2"}},
		{Find{Text: "left"}, []string{"s3"}},
		{Find{Text: "a_7"}, []string{"s1"}},
		{Find{Text: "_"}, []string{"s1"}},
		{Find{Text: "%"}, []string{"s2"}},
		{Find{Text: "kind"}, nil},
		{Find{Limit: 2}, []string{"s1", "s2"}},
		{Find{After: "s2"}, []string{"s3"}},
		{Find{Text: "strap", After: "s1", Limit: 1}, []string{"s2"}},
		{Find{Removed: true}, nil},
	} {
		docs, err := s.FindItems(ctx, c.find)
		require.NoError(t, err)
		var got []string
		for _, d := range docs {
			got = append(got, d.Value.ID)
		}
		require.Equal(t, c.want, got, "%+v", c.find)
	}
	_, err := s.SaveRig(ctx, Document[rig.Rig]{Value: someRig("long")})
	require.NoError(t, err)
	_, err = s.SaveVehicle(ctx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: "puller"}})
	require.NoError(t, err)
	rigs, err := s.FindRigs(ctx, Find{Text: "puller long"})
	require.NoError(t, err)
	require.Len(t, rigs, 1)
	vehicles, err := s.FindVehicles(ctx, Find{Text: "pull"})
	require.NoError(t, err)
	require.Len(t, vehicles, 1)
}

// TestFindItemsByKindAndRetirement: a kind is the whole of it, not a word that
// stands in a name, and both narrow a search by words.
func TestFindItemsByKindAndRetirement(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	gone := &gear.Withdrawal{Date: "2026-05-09", Reason: "cut"}
	for _, it := range []gear.Item{
		{ID: "b1", Name: "bow shackle 12", Kind: gear.BowShackle},
		{ID: "b2", Name: "bow shackle 13", Kind: gear.BowShackle, Life: gear.Life{Retired: gone}},
		{ID: "r1", Name: "ring for a bow shackle", Kind: gear.Ring},
		{ID: "s1", Name: "bow shackle, soft", Kind: gear.SoftShackle, Life: gear.Life{Retired: gone}},
		{ID: "s2", Name: "green loop", Kind: gear.SoftShackle, Life: gear.Life{Quarantined: gone}},
	} {
		_, err := s.SaveItem(t.Context(), Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
	d, err := s.ItemByKey(t.Context(), "s1")
	require.NoError(t, err)
	for _, c := range []struct {
		find Find
		want []string
	}{
		{Find{Kind: gear.BowShackle}, []string{"b1", "b2"}},
		{Find{Kind: gear.Ring}, []string{"r1"}},
		{Find{Kind: gear.Chain}, nil},
		{Find{Kind: gear.BowShackle, Text: "13"}, []string{"b2"}},
		{Find{Retired: gear.Yes}, []string{"b2", "s1"}},
		{Find{Retired: gear.No}, []string{"b1", "r1", "s2"}},
		{Find{Retired: gear.NotKnown}, []string{"b1", "b2", "r1", "s1", "s2"}},
		{Find{Kind: gear.SoftShackle, Retired: gear.No}, []string{"s2"}},
		{Find{Kind: gear.BowShackle, Retired: gear.Yes, After: "b2"}, nil},
		{Find{Retired: gear.No, After: "b1", Limit: 1}, []string{"r1"}},
	} {
		docs, err := s.FindItems(t.Context(), c.find)
		require.NoError(t, err)
		var got []string
		for _, d := range docs {
			got = append(got, d.Value.ID)
		}
		require.Equal(t, c.want, got, "%+v", c.find)
	}
	require.NoError(t, s.Remove(t.Context(), "item", d.ID, 0))
	docs, err := s.FindItems(t.Context(), Find{Retired: gear.Yes, Removed: true})
	require.NoError(t, err)
	require.Len(t, docs, 1)
	require.Equal(t, "s1", docs[0].Value.ID)
}

// stamped is a shackle as a register file or a form has it.
func stamped(t *testing.T, s *Store) Document[gear.Item] {
	t.Helper()
	tonnes, err := unit.ParseForce("4.75t")
	require.NoError(t, err)
	nine := unit.Length(9)
	d, err := s.SaveItem(t.Context(), Document[gear.Item]{Value: gear.Item{
		ID: "b1", Name: "bow shackle", Kind: gear.BowShackle, Maker: "Weir Forge", Serial: "WF-0421", Length: &nine,
		Ratings: []gear.Rating{{Value: tonnes, Basis: gear.WLL, Stamp: "W.L.L. 4 3/4 T"}, {Value: 200e3, Basis: gear.MBS}},
	}})
	require.NoError(t, err)
	_, err = s.SaveItem(t.Context(), Document[gear.Item]{Value: gear.Item{ID: "b2", Name: "other shackle", Kind: gear.BowShackle}})
	require.NoError(t, err)
	return d
}

func found(t *testing.T, s *Store, text string) (ids []string) {
	t.Helper()
	docs, err := s.FindItems(t.Context(), Find{Text: text})
	require.NoError(t, err)
	for _, d := range docs {
		ids = append(ids, d.Value.ID)
	}
	return ids
}

// readOff are what a person may read off that shackle, its papers or a label
// printed in any unit. By hand, with standard gravity 9.80665 m/s² and the pound
// of 0.45359237 kg: 4.75 t are 46.58 kN, 4750 kgf and 10472 lbf; 200 kN are
// 20.39 t, 20394 kgf and 44962 lbf.
var readOff = []string{
	"4.75 t", "4.75t wll", "46.6 kN", "4750kgf", "4750 kg", "10500 lbf", "4 3/4", "W.L.L.",
	"MBS 200 kN", "mbs 20.4t", "20400 kgf", "45000lbf", "wf-0421", "weir", "9 m",
}

// TestFindItemsByWhatIsStamped: an item is found by its rating in any unit, by its
// basis, and by what is stamped, whether it was kept, changed, brought back, or is
// of a store of the format before.
func TestFindItemsByWhatIsStamped(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	d := stamped(t, s)
	for _, text := range readOff {
		require.Equal(t, []string{"b1"}, found(t, s, text), text)
	}
	require.Empty(t, found(t, s, "value"), "what only the file of the store says")

	d.Value.Ratings = d.Value.Ratings[1:]
	_, err := s.SaveItem(t.Context(), d)
	require.NoError(t, err)
	require.Empty(t, found(t, s, "wll"))
	last := func() int64 {
		changes, err := s.Changes(t.Context(), JournalFilter{What: "item", Ref: d.ID, Limit: 1})
		require.NoError(t, err)
		return changes[0].ID
	}
	_, err = s.Undo(t.Context(), last())
	require.NoError(t, err)
	require.Equal(t, []string{"b1"}, found(t, s, "wll"))
	require.NoError(t, s.Remove(t.Context(), "item", d.ID, 0))
	require.Empty(t, found(t, s, "wll"))
	_, err = s.Undo(t.Context(), last())
	require.NoError(t, err)
	require.Equal(t, []string{"b1"}, found(t, s, "wll"))
}

func TestStoreOfTheFormatBeforeIsSearched(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	stamped(t, s)
	dir := t.TempDir()
	old := &Store{dir: dir, options: Options{}.withDefaults()}
	require.NoError(t, old.openWriter())
	for i, name := range migrationNames()[:searchedFormat-1] {
		require.NoError(t, old.apply(t.Context(), name, i+1))
	}
	_, err := old.writer.Exec(`ATTACH ? AS new`, s.databasePath())
	require.NoError(t, err)
	_, err = old.writer.Exec(`INSERT INTO main.items (id, key, version, updated, doc) SELECT id, key, version, updated, doc FROM new.items`)
	require.NoError(t, err)
	_, err = old.writer.Exec(`INSERT INTO main.items (key, version, updated, removed, doc) VALUES ('gone', 1, 0, 7, 'no JSON')`)
	require.NoError(t, err)
	require.NoError(t, old.Close())

	migrated := open(t, dir, Options{})
	for _, text := range readOff {
		require.Equal(t, []string{"b1"}, found(t, migrated, text), text)
	}
}

func TestJournalInPages(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	for i := range int64(9) {
		_, err := s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(i/3*second, i/3*second+i)})
		require.NoError(t, err)
	}
	for _, f := range []JournalFilter{{Limit: 3}, {What: "pull", Limit: 2}, {What: "pull", Ref: 2, Limit: 2}} {
		want, err := s.Journal(t.Context(), f.What, f.Ref, 0)
		require.NoError(t, err)
		require.NotEmpty(t, want)
		var got []Change
		for {
			page, err := s.Changes(t.Context(), f)
			require.NoError(t, err)
			got = append(got, page...)
			if len(page) < f.Limit {
				break
			}
			f.Before = page[len(page)-1].ID
		}
		require.Equal(t, want, got)
	}
}
