package store

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// assumed is a set by hand.
func assumed(name string, multiplier float64) shock.Kept {
	return shock.Kept{Name: name, Assumed: []shock.Assumption{{Class: shock.ClassName{Kind: pull.Kinetic}, Multiplier: multiplier, Source: "training notes"}}}
}

// fitted is a set from a few made-up pulls.
func fitted(name string) shock.Kept {
	var pulls []shock.Pull
	for i := range 6 {
		pulls = append(pulls, shock.Pull{
			ID: fmt.Sprint("pull ", i+1), Line: i + 1, Day: fmt.Sprint("2026-05-0", 1+i%3), Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"},
			Peak: 30e3 + unit.Force(1234.5678912*float64(i)/3), Reference: 2800, Flags: []string{pull.FlagSampling}[:i%2],
		})
	}
	return shock.Keep(name, append(pulls, shock.Pull{ID: "pull 7", Line: 7, Day: "2026-05-01", Remark: "no rig"}))
}

func TestSetComesBackWhole(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine, Who: "club"})
	k := fitted(" river bar ")
	saved, err := s.SaveSet(t.Context(), k)
	require.NoError(t, err)
	want := k
	want.Name, want.Version, want.Made, want.Who = "river bar", 1, "2026-05-09T09:00:00Z", "club"
	require.Equal(t, want.Label(), saved.Label())
	got, err := s.Set(t.Context(), "river bar", 0)
	require.NoError(t, err)
	wantText, err := json.Marshal(want)
	require.NoError(t, err)
	gotText, err := json.Marshal(got)
	require.NoError(t, err)
	require.JSONEq(t, string(wantText), string(gotText))
	f, remarks := got.Refit()
	require.Nil(t, f, "no speed is known")
	require.Empty(t, remarks)
	require.NoError(t, s.Integrity(t.Context()))
}

func TestSetsAreAppendedAndNeverChanged(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	first, err := s.SaveSet(ctx, assumed("a", 3))
	require.NoError(t, err)
	same, err := s.SaveSet(ctx, assumed("a", 3))
	require.NoError(t, err)
	require.Equal(t, first, same, "nothing new was said")
	second, err := s.SaveSet(ctx, assumed("a", 2.5))
	require.NoError(t, err)
	require.Equal(t, 2, second.Version)

	late := assumed("a", 4)
	late.Version = 1
	_, err = s.SaveSet(ctx, late)
	require.ErrorIs(t, err, ErrConflict, "made from version 1, which is no longer the latest")
	late.Version = 2
	third, err := s.SaveSet(ctx, late)
	require.NoError(t, err)
	require.Equal(t, 3, third.Version)
	lone := assumed("b", 4)
	lone.Version = 1
	_, err = s.SaveSet(ctx, lone)
	require.ErrorIs(t, err, ErrConflict, "there is no b")

	for version, want := range map[int]shock.Kept{0: third, 1: first, 2: second, 3: third} {
		got, err := s.Set(ctx, "a", version)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	_, err = s.Set(ctx, "a", 9)
	require.ErrorIs(t, err, ErrNotFound)
	_, err = s.writer.Exec(`UPDATE sets SET doc = '{}'`)
	require.ErrorContains(t, err, "does not change")
	_, err = s.writer.Exec(`DELETE FROM sets`)
	require.ErrorContains(t, err, "stays")

	for _, wrong := range []shock.Kept{{}, assumed("", 3), assumed("rule of thumb", 3), assumed("a@2", 3), assumed("a", 0), {Name: "a", Made: "today", Assumed: first.Assumed}} {
		_, err := s.SaveSet(ctx, wrong)
		require.ErrorIs(t, err, ErrInvalid, "%+v", wrong)
	}
}

func TestWhatIsPlannedWithIsChosenAndJournalled(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine, Who: "club"})
	ctx := t.Context()
	got, err := s.PlanningWith(ctx)
	require.NoError(t, err)
	require.Equal(t, shock.RuleOfThumb(), got)
	_, err = s.PlanWith(ctx, "a", 0)
	require.ErrorIs(t, err, ErrNotFound)
	first, err := s.SaveSet(ctx, assumed("a", 3))
	require.NoError(t, err)
	got, err = s.PlanWith(ctx, " a ", 0)
	require.NoError(t, err)
	require.Equal(t, first, got)
	_, err = s.SaveSet(ctx, assumed("a", 2))
	require.NoError(t, err)
	got, err = s.PlanningWith(ctx)
	require.NoError(t, err)
	require.Equal(t, first, got, "a later version does not choose itself")
	for _, name := range []string{"a", "a", "Rule of thumb", "rule of thumb"} {
		_, err = s.PlanWith(ctx, name, 0)
		require.NoError(t, err)
	}
	got, err = s.PlanningWith(ctx)
	require.NoError(t, err)
	require.Equal(t, shock.RuleOfThumb(), got)
	changes, err := s.Journal(ctx, "choice", 0, 0)
	require.NoError(t, err)
	require.Len(t, changes, 3, "choosing again what is chosen is no change")
	require.JSONEq(t, `{"name":"a","version":2}`, string(changes[0].Before))
	require.JSONEq(t, `{"name":"rule of thumb","version":0}`, string(changes[0].After))
	require.JSONEq(t, `{"name":"rule of thumb","version":0}`, string(changes[2].Before))
	kept, err := s.Journal(ctx, "set", 0, 0)
	require.NoError(t, err)
	require.Len(t, kept, 2)
	require.Nil(t, kept[1].Before)
	require.JSONEq(t, `{"name":"a","version":2}`, string(kept[0].After))
	require.Equal(t, "club", kept[0].Who)
}

func TestOfManyWhoKeepFromOneVersionOneIsKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	base, err := s.SaveSet(t.Context(), assumed("a", 3))
	require.NoError(t, err)
	var group sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		group.Go(func() {
			mine := assumed("a", 4+float64(i))
			mine.Version = base.Version
			_, errs[i] = s.SaveSet(t.Context(), mine)
		})
	}
	group.Wait()
	kept := 0
	for _, err := range errs {
		if err == nil {
			kept++
			continue
		}
		require.ErrorIs(t, err, ErrConflict)
	}
	require.Equal(t, 1, kept)
}

// TestAnySequenceOfSets holds a store against a plain list, through closing
// and opening.
func TestAnySequenceOfSets(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		rnd := rand.New(rand.NewPCG(seed, 2))
		dir, ctx := t.TempDir(), t.Context()
		s := open(t, dir, Options{})
		versions, chosen := map[string][]shock.Kept{}, shock.RuleOfThumb()
		for range 40 {
			name := []string{"a", "b"}[rnd.IntN(2)]
			of := versions[name]
			switch rnd.IntN(7) {
			case 0:
				require.NoError(t, s.Close())
				s = open(t, dir, Options{})
			case 1, 2, 3:
				k := assumed(name, float64(1+rnd.IntN(3)))
				got, err := s.SaveSet(ctx, k)
				require.NoError(t, err)
				if len(of) == 0 || of[len(of)-1].Assumed[0] != k.Assumed[0] {
					of = append(of, got)
				}
				versions[name] = of
				require.Equal(t, of[len(of)-1], got)
				require.Len(t, of, got.Version)
			default:
				v := rnd.IntN(len(of) + 1)
				got, err := s.PlanWith(ctx, name, v)
				if len(of) == 0 {
					require.ErrorIs(t, err, ErrNotFound)
					break
				}
				require.NoError(t, err)
				chosen = of[(v+len(of)-1)%len(of)] // 0 is the latest
				require.Equal(t, chosen, got)
			}
			got, err := s.PlanningWith(ctx)
			require.NoError(t, err)
			require.Equal(t, chosen, got)
			all, err := s.Sets(ctx)
			require.NoError(t, err)
			require.Len(t, all, len(versions["a"])+len(versions["b"]))
		}
	}
}

func TestPlanIsADocument(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	p := Plan{Name: "ford, east bank", Kind: "kinetic", Inputs: json.RawMessage(`{"speed":"8km/h"}`), Result: json.RawMessage(`{"peak_N":1}`), Set: SetRef{"a", 2}}
	saved, err := s.SavePlan(ctx, Document[Plan]{Value: p})
	require.NoError(t, err)
	got, err := s.PlanByName(ctx, p.Name)
	require.NoError(t, err)
	require.Equal(t, saved, got)
	got.Value.Kind = "steady"
	changed, err := s.SavePlan(ctx, got)
	require.NoError(t, err)
	_, err = s.SavePlan(ctx, Document[Plan]{ID: saved.ID, Version: 1, Value: p})
	require.ErrorIs(t, err, ErrConflict)
	_, err = s.SavePlan(ctx, Document[Plan]{Value: Plan{Name: "x", Inputs: json.RawMessage(`{`)}})
	require.ErrorIs(t, err, ErrInvalid)
	one, err := s.Plan(ctx, saved.ID)
	require.NoError(t, err)
	require.Equal(t, changed, one)
	all, err := s.Plans(ctx)
	require.NoError(t, err)
	require.Equal(t, []Document[Plan]{changed}, all)
	changes, err := s.Journal(ctx, "plan", saved.ID, 0)
	require.NoError(t, err)
	require.Len(t, changes, 2)
}

// TestHeadsOfSets: the head of a set is the set without its pulls, in a store
// that has kept it as in one that comes from an earlier format.
func TestHeadsOfSets(t *testing.T) {
	t.Parallel()
	ctx, dir := t.Context(), t.TempDir()
	heads := func(s *Store, sets int) {
		all, err := s.Sets(ctx)
		require.NoError(t, err)
		require.Len(t, all, sets)
		for _, want := range append(all, shock.RuleOfThumb()) {
			n := len(want.Pulls)
			want.Pulls = nil
			got, pulls, err := s.SetHead(ctx, refOf(want))
			require.NoError(t, err)
			require.Equal(t, want, got)
			require.Equal(t, n, pulls)
		}
		_, _, err = s.SetHead(ctx, SetRef{"no such", 1})
		require.ErrorIs(t, err, ErrNotFound)
	}
	doc, err := json.Marshal(fitted("from before"))
	require.NoError(t, err)
	old := &Store{dir: dir, options: Options{}.withDefaults()}
	require.NoError(t, old.openWriter())
	for i, name := range migrationNames()[:11] {
		require.NoError(t, old.apply(ctx, name, i+1))
	}
	_, err = old.writer.Exec(`INSERT INTO sets (name, version, made, doc) VALUES ('from before', 0, 5, ?)`, string(doc))
	require.NoError(t, err)
	require.NoError(t, old.Close())

	s := open(t, dir, Options{})
	heads(s, 1)
	_, err = s.SaveSet(ctx, fitted("river bar"))
	require.NoError(t, err)
	_, err = s.SaveSet(ctx, assumed("by hand", 3))
	require.NoError(t, err)
	heads(s, 3)
	got, pulls, err := s.SetHead(ctx, SetRef{Name: "river bar"})
	require.NoError(t, err)
	require.Equal(t, 1, got.Version)
	require.Equal(t, 7, pulls)
}

// TestStoreOfTheFirstFormat brings a store of format 1 up to date, and keeps
// what is in it.
func TestStoreOfTheFirstFormat(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	old := &Store{dir: dir, options: Options{}.withDefaults()}
	require.NoError(t, old.openWriter())
	require.NoError(t, old.apply(t.Context(), migrationNames()[0], 1))
	_, err := old.writer.Exec(`INSERT INTO vehicles (key, version, updated, doc) VALUES ('truck', 7, 5, '{"name":"truck"}')`)
	require.NoError(t, err)
	require.NoError(t, old.Close())
	_, err = OpenEditor(dir, Options{})
	requireSentence(t, err, ErrOlder, dir)

	s := open(t, dir, Options{})
	all, err := s.Vehicles(t.Context())
	require.NoError(t, err)
	require.Equal(t, []Document[gear.Vehicle]{{ID: 1, Version: 7, Updated: time.Unix(0, 5).UTC(), Value: gear.Vehicle{Name: "truck"}}}, all)
	_, err = s.SaveSet(t.Context(), assumed("a", 3))
	require.NoError(t, err)
}

// TestEditorBesideADaemon: sets are kept and a pull is edited from beside while
// the daemon appends, and neither loses anything.
func TestEditorBesideADaemon(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	p, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning, morning+second)})
	require.NoError(t, err)
	e, err := OpenEditor(s.Dir(), Options{Who: "beside"})
	require.NoError(t, err)
	defer func() { require.NoError(t, e.Close()) }()
	const each = 30
	var group sync.WaitGroup
	var daemon, editor error
	group.Go(func() {
		for i := int64(0); i < each && daemon == nil; i++ {
			daemon = s.Append(ctx, []Run{{Cell: cell, Start: morning + i*second, Step: 1e6, Raw: noisy(5, 250)}})
		}
	})
	group.Go(func() {
		for i := 0; i < each && editor == nil; i++ {
			_, editor = e.SaveSet(ctx, assumed("a", float64(1+i)))
		}
	})
	group.Wait()
	require.NoError(t, daemon)
	require.NoError(t, editor)
	p.Ground = "clay"
	_, err = e.SavePull(ctx, p)
	require.NoError(t, err)
	k, err := s.Set(ctx, "a", 0)
	require.NoError(t, err)
	require.Equal(t, each, k.Version)
	_, _, n, err := s.Span(ctx, cell)
	require.NoError(t, err)
	require.EqualValues(t, each*250, n)
	err = e.Append(ctx, []Run{{Cell: cell, Start: 0, Step: 1, Raw: []int64{1}}})
	requireSentence(t, err, ErrReadOnly, s.Dir())
	_, err = e.Fold(ctx, cell)
	requireSentence(t, err, ErrReadOnly, s.Dir())
	require.NoError(t, s.Integrity(ctx))
	_, err = OpenEditor(t.TempDir(), Options{})
	require.ErrorIs(t, err, ErrNoStore)
}
