package store

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

func lastChange(t require.TestingT, s *Store) Change {
	all, err := s.Journal(context.Background(), "", 0, 1)
	require.NoError(t, err)
	require.Len(t, all, 1)
	return all[0]
}

// TestARemovedItemFreesItsNameAndKeepsItsHistory plays a strap that wears out
// and its successor, which gets the same number.
func TestARemovedItemFreesItsNameAndKeepsItsHistory(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	old := saveItem(t, s, "s1")
	r := rigOf("long", "s1", "p1", "p2")
	first, err := s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+second)})
	require.NoError(t, err)
	require.ErrorIs(t, s.Remove(ctx, "item", old, 7), ErrConflict, "somebody else's version")
	require.NoError(t, s.Remove(ctx, "item", old, 1))
	removal := lastChange(t, s)
	require.Nil(t, removal.After)
	require.ErrorIs(t, s.Remove(ctx, "item", old, 0), ErrNotFound)
	_, err = s.SaveItem(ctx, Document[gear.Item]{ID: old, Value: gear.Item{ID: "s1", Name: "s1", Kind: gear.RecoveryStrap}})
	require.ErrorIs(t, err, ErrConflict, "it was removed meanwhile")

	listed, err := s.Items(ctx)
	require.NoError(t, err)
	require.Empty(t, listed)
	gone, err := s.Item(ctx, old)
	require.NoError(t, err)
	require.False(t, gone.Removed.IsZero())
	require.Equal(t, "s1", gone.Value.ID)
	bin, err := s.FindItems(ctx, Find{Removed: true})
	require.NoError(t, err)
	require.Equal(t, []Document[gear.Item]{gone}, bin)

	fresh := saveItem(t, s, "s1")
	require.NotEqual(t, old, fresh)
	_, err = s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+2*second), Settled: true})
	require.NoError(t, err, "the first pull, looked at again")
	second, err := s.SavePull(ctx, Pull{Cell: cell, Rig: &r, Found: foundAt(morning+9*second, morning+10*second)})
	require.NoError(t, err)
	for id, want := range map[int64]int64{old: first.ID, fresh: second.ID} {
		uses, err := s.ItemUses(ctx, id)
		require.NoError(t, err)
		require.Len(t, uses, 1)
		require.Equal(t, want, uses[0].Pull)
	}
	shown, err := s.Pull(ctx, first.ID)
	require.NoError(t, err)
	require.Equal(t, &r, shown.Rig)

	_, err = s.Undo(ctx, removal.ID)
	require.ErrorIs(t, err, ErrConflict, "another has the name")
	require.NoError(t, s.Remove(ctx, "item", fresh, 0))
	back, err := s.Undo(ctx, removal.ID)
	require.NoError(t, err)
	require.Equal(t, "item", back.What)
	require.Nil(t, back.Before)
	again, err := s.ItemByKey(ctx, "s1")
	require.NoError(t, err)
	require.Equal(t, old, again.ID)
	require.True(t, again.Removed.IsZero())
	require.NoError(t, s.Integrity(ctx))
}

func TestWhatIsInForceIsNotRemoved(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	r, err := s.SaveRig(ctx, Document[rig.Rig]{Value: someRig("long")})
	require.NoError(t, err)
	made := lastChange(t, s)
	v, err := s.SaveVehicle(ctx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: "truck"}})
	require.NoError(t, err)
	d, err := s.SaveDay(ctx, Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	_, err = s.SetSetup(ctx, Setup{Cell: cell, Rig: r.ID, Stuck: v.ID, Day: d.ID})
	require.NoError(t, err)
	setup := lastChange(t, s)
	refused := func(is error) {
		require.ErrorIs(t, s.Remove(ctx, "rig", r.ID, 0), is)
		require.ErrorIs(t, s.Remove(ctx, "vehicle", v.ID, 0), is)
		require.ErrorIs(t, s.Remove(ctx, "day", d.ID, 0), is)
	}
	refused(ErrConflict)
	_, err = s.Undo(ctx, made.ID)
	require.ErrorIs(t, err, ErrConflict)
	_, err = s.Undo(ctx, setup.ID)
	require.NoError(t, err)
	now, err := s.Setup(ctx, cell)
	require.NoError(t, err)
	require.Equal(t, Setup{Cell: cell, Since: now.Since}, now)
	refused(nil)
	_, err = s.SetSetup(ctx, Setup{Cell: cell, Rig: r.ID})
	require.ErrorIs(t, err, ErrNotFound, "it is removed")
	require.ErrorIs(t, s.Remove(ctx, "cell", cell, 0), ErrInvalid)
	require.ErrorIs(t, s.Remove(ctx, "rig", 99, 0), ErrNotFound)
}

// TestUndoOfAPull: a person's change is taken back, what was measured since
// stays, and what a person changed since is not touched.
func TestUndoOfAPull(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	d, err := s.SaveDay(ctx, Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	p, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning, morning+second), Ground: "clay", Day: d.ID})
	require.NoError(t, err)
	found := lastChange(t, s)
	r := rigOf("long", "s1", "p1", "p2")
	p.Ground, p.Day, p.Rig = "sand", 0, &r
	edited, err := s.SavePull(ctx, p)
	require.NoError(t, err)
	edit := lastChange(t, s)
	edited.Notes = "wet"
	_, err = s.SavePull(ctx, edited)
	require.NoError(t, err)
	_, err = s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning, morning+3*second), Settled: true})
	require.NoError(t, err)
	measured := lastChange(t, s)

	undone, err := s.Undo(ctx, edit.ID)
	require.NoError(t, err)
	got, err := s.Pull(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, []any{"clay", d.ID, (*rig.Rig)(nil), "wet", morning + 3*second}, []any{got.Ground, got.Day, got.Rig, got.Notes, got.Found.End})
	_, err = s.Undo(ctx, edit.ID)
	require.ErrorIs(t, err, ErrConflict, "it is undone")
	_, err = s.Undo(ctx, undone.ID)
	require.NoError(t, err)
	got, err = s.Pull(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, []any{"sand", int64(0), &r, "wet"}, []any{got.Ground, got.Day, got.Rig, got.Notes})
	for _, c := range []Change{found, measured} {
		_, err = s.Undo(ctx, c.ID)
		require.ErrorIs(t, err, ErrInvalid)
	}
	_, err = s.Undo(ctx, 999)
	require.ErrorIs(t, err, ErrNotFound)
	require.NoError(t, s.Integrity(ctx))
}

// TestUndoBringsBackWhatWas: whatever was saved, renamed, removed and undone,
// undoing the latest change of a document gives what was before it.
func TestUndoBringsBackWhatWas(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	type state struct {
		there bool
		name  string
		notes string
	}
	round := 0
	rapid.Check(t, func(t *rapid.T) {
		round++ // what another round saved is not touched
		base := strconv.Itoa(round)
		history := map[int64][]state{}
		var changes []Change
		now := func(id int64) state {
			d, err := s.Vehicle(ctx, id)
			require.NoError(t, err)
			if !d.Removed.IsZero() {
				return state{}
			}
			return state{true, d.Value.Name, d.Value.Notes}
		}
		did := func(err error) {
			if errors.Is(err, ErrConflict) || errors.Is(err, ErrNotFound) {
				return
			}
			require.NoError(t, err)
			c := lastChange(t, s)
			if len(changes) > 0 && changes[len(changes)-1].ID == c.ID {
				return // nothing changed
			}
			changes = append(changes, c)
			history[c.Ref] = append(history[c.Ref], now(c.Ref))
		}
		any := func() int64 {
			if len(changes) == 0 {
				return 0
			}
			return rapid.SampledFrom(changes).Draw(t, "change").Ref
		}
		name := func() string { return base + rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "name") }
		t.Repeat(map[string]func(*rapid.T){
			"save": func(*rapid.T) {
				_, err := s.SaveVehicle(ctx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: name(), Notes: rapid.SampledFrom([]string{"x", "y"}).Draw(t, "notes")}})
				did(err)
			},
			"rename": func(*rapid.T) {
				if id := any(); id != 0 {
					_, err := s.SaveVehicle(ctx, Document[gear.Vehicle]{ID: id, Value: gear.Vehicle{Name: name()}})
					did(err)
				}
			},
			"remove": func(*rapid.T) {
				if id := any(); id != 0 {
					did(s.Remove(ctx, "vehicle", id, 0))
				}
			},
			"undo": func(*rapid.T) {
				if len(changes) == 0 {
					return
				}
				c := rapid.SampledFrom(changes).Draw(t, "undone")
				h := history[c.Ref]
				was := state{}
				if len(h) > 1 {
					was = h[len(h)-2]
				}
				_, err := s.Undo(ctx, c.ID)
				did(err)
				if err == nil {
					require.Equal(t, was, now(c.Ref))
				} else {
					require.ErrorIs(t, err, ErrConflict)
					require.Equal(t, h[len(h)-1], now(c.Ref))
				}
			},
		})
	})
	require.NoError(t, s.Integrity(ctx))
}

func TestUndoOfAChoice(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	ctx := t.Context()
	for _, name := range []string{"bank", "bar"} {
		_, err := s.SaveSet(ctx, assumed(name, 3))
		require.NoError(t, err)
		_, err = s.PlanWith(ctx, name, 0)
		require.NoError(t, err)
	}
	all, err := s.Journal(ctx, "choice", 0, 0)
	require.NoError(t, err)
	require.Len(t, all, 2)
	_, err = s.Undo(ctx, all[1].ID)
	require.ErrorIs(t, err, ErrConflict, "the second choice came after it")
	_, err = s.Undo(ctx, all[0].ID)
	require.NoError(t, err)
	k, err := s.PlanningWith(ctx)
	require.NoError(t, err)
	require.Equal(t, "bank", k.Name)
	kept, err := s.Journal(ctx, "set", 0, 1)
	require.NoError(t, err)
	_, err = s.Undo(ctx, kept[0].ID)
	require.ErrorIs(t, err, ErrInvalid)
}

// TestTwoPeopleLoseNothing: through two connections, as a page and a command
// have them, people edit the notes of the same things, each time from what they
// read. Every edit that was kept is there in the end, none over another.
func TestTwoPeopleLoseNothing(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	editor, err := OpenEditor(s.Dir(), Options{})
	require.NoError(t, err)
	t.Cleanup(func() { _ = editor.Close() })
	ctx := t.Context()
	item := saveItem(t, s, "s1")
	p, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning, morning+second)})
	require.NoError(t, err)
	const people, edits = 6, 8
	var group sync.WaitGroup
	for i := range people {
		group.Go(func() {
			db := []*Store{s, editor}[i%2]
			for n := range edits {
				word := fmt.Sprintf("%d.%d ", i, n)
				appendNote(t, func() error {
					d, err := db.Item(ctx, item)
					if err != nil {
						return err
					}
					d.Value.Notes += word
					_, err = db.SaveItem(ctx, d)
					return err
				})
				appendNote(t, func() error {
					q, err := db.Pull(ctx, p.ID)
					if err != nil {
						return err
					}
					q.Notes += word
					_, err = db.SavePull(ctx, q)
					return err
				})
			}
		})
	}
	group.Wait()
	d, err := s.Item(ctx, item)
	require.NoError(t, err)
	q, err := s.Pull(ctx, p.ID)
	require.NoError(t, err)
	for i := range people {
		for n := range edits {
			word := fmt.Sprintf("%d.%d ", i, n)
			require.Contains(t, d.Value.Notes, word)
			require.Contains(t, q.Notes, word)
		}
	}
	require.EqualValues(t, 1+people*edits, d.Version)
	require.Equal(t, pull.Kinetic, q.Kind)
}

// appendNote edits until no other came between.
func appendNote(t *testing.T, edit func() error) {
	for {
		err := edit()
		if err == nil {
			return
		}
		if !errors.Is(err, ErrConflict) {
			t.Error(err)
			return
		}
	}
}
