package store

import (
	"encoding/json"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

func someRig(name string) rig.Rig {
	length := unit.Length(9)
	return rig.Rig{
		Name: name, Pulling: gear.Vehicle{Name: "puller"}, Stuck: gear.Vehicle{Name: "stuck"},
		Chain: []rig.Link{rig.InLine(gear.Item{ID: "s1", Name: "strap", Kind: gear.RecoveryStrap, Length: &length, Ratings: []gear.Rating{{Value: 80e3, Basis: gear.MBS}}})},
	}
}

func TestCellComesBackWhole(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	cell := Cell{
		Name: "north", Line: port.Line{Path: "/dev/ttyUSB0", Baud: 57600},
		Wire:  wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 2, Unit: "kN", Decimals: 3, Overload: []string{"OL"}}},
		Curve: calibrate.Curve{Coefficients: []float64{-0.1, 1.0 / 3, 1e-17}, Relative95: 0.005}, Capacity: 50e3, Rate: 1000, LagSeconds: 1e-4,
	}
	saved, err := s.SaveCell(t.Context(), cell)
	require.NoError(t, err)
	want := cell
	want.ID, want.Version, want.Updated = 1, 1, atNine()
	require.Equal(t, want, saved)
	got, err := s.CellByName(t.Context(), "north")
	require.NoError(t, err)
	require.Equal(t, want, got)
	all, err := s.Cells(t.Context())
	require.NoError(t, err)
	require.Equal(t, []Cell{want}, all)
	_, err = s.CellByName(t.Context(), "south")
	require.ErrorIs(t, err, ErrNotFound)
}

func TestSavingByNameByVersionAndAgain(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	first, err := s.SaveCell(t.Context(), Cell{Name: "a", Rate: 10})
	require.NoError(t, err)

	same, err := s.SaveCell(t.Context(), Cell{Name: "a", Rate: 10})
	require.NoError(t, err)
	require.Equal(t, first, same, "nothing changed")

	byName, err := s.SaveCell(t.Context(), Cell{Name: "a", Rate: 20})
	require.NoError(t, err)
	require.Equal(t, first.ID, byName.ID)
	require.EqualValues(t, 2, byName.Version)

	first.Rate = 30
	_, err = s.SaveCell(t.Context(), first)
	require.ErrorIs(t, err, ErrConflict, "it was read before the other change")

	byName.Name = "b"
	renamed, err := s.SaveCell(t.Context(), byName)
	require.NoError(t, err)
	require.Equal(t, first.ID, renamed.ID)
	_, err = s.CellByName(t.Context(), "a")
	require.ErrorIs(t, err, ErrNotFound)

	_, err = s.SaveCell(t.Context(), Cell{Name: "a"})
	require.NoError(t, err)
	renamed.Name = "a"
	_, err = s.SaveCell(t.Context(), renamed)
	require.ErrorIs(t, err, ErrConflict, "the name is another's")
	_, err = s.SaveCell(t.Context(), Cell{ID: 99, Name: "c"})
	require.ErrorIs(t, err, ErrNotFound)
	_, err = s.SaveCell(t.Context(), Cell{Name: " "})
	require.ErrorIs(t, err, ErrInvalid)
}

func TestOfManyEditorsOneIsKeptAndTheOthersAreTold(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	base, err := s.SaveRig(t.Context(), Document[rig.Rig]{Value: someRig("long")})
	require.NoError(t, err)
	var group sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		group.Go(func() {
			mine := base
			mine.Value.Notes = "by " + itoa(i)
			_, errs[i] = s.SaveRig(t.Context(), mine)
		})
	}
	group.Wait()
	var kept []int
	for i, err := range errs {
		if err == nil {
			kept = append(kept, i)
			continue
		}
		require.ErrorIs(t, err, ErrConflict)
	}
	require.Len(t, kept, 1)
	got, err := s.Rig(t.Context(), base.ID)
	require.NoError(t, err)
	require.Equal(t, "by "+itoa(kept[0]), got.Value.Notes)
}

func TestEveryKindOfDocument(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	ctx := t.Context()
	weighed := unit.Mass(2800)
	v, err := s.SaveVehicle(ctx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: "truck", Weighed: &weighed}})
	require.NoError(t, err)
	vehicles, err := s.Vehicles(ctx)
	require.NoError(t, err)
	require.Equal(t, []Document[gear.Vehicle]{v}, vehicles)
	one, err := s.Vehicle(ctx, v.ID)
	require.NoError(t, err)
	require.Equal(t, v, one)

	for _, id := range []string{"s2", "s1", ""} {
		_, err := s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: id, Name: "shackle", Kind: gear.BowShackle, Ratings: []gear.Rating{{Value: 46.6e3, Basis: gear.WLL}}}})
		require.NoError(t, err)
	}
	items, err := s.Items(ctx)
	require.NoError(t, err)
	require.Len(t, items, 3, "items of one name are told apart by their own ID")
	require.Equal(t, "s1", items[0].Value.ID)

	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: "s4", Name: "of no kind"}})
	require.ErrorIs(t, err, ErrInvalid, "what could not be read back is not written")

	r, err := s.SaveRig(ctx, Document[rig.Rig]{Value: someRig("long")})
	require.NoError(t, err)
	byName, err := s.RigByName(ctx, "long")
	require.NoError(t, err)
	require.Equal(t, r, byName)
	require.Equal(t, someRig("long"), byName.Value)
	rigs, err := s.Rigs(ctx)
	require.NoError(t, err)
	require.Equal(t, []Document[rig.Rig]{r}, rigs)

	var days []Day
	for _, date := range []string{"2026-05-09", "2026-06-13"} {
		d, err := s.SaveDay(ctx, Day{Date: date, Name: "practice", Place: "quarry", Ground: "clay"})
		require.NoError(t, err)
		days = append([]Day{d}, days...)
	}
	all, err := s.Days(ctx)
	require.NoError(t, err)
	require.Equal(t, days, all, "the latest first")
	d, err := s.Day(ctx, days[1].ID)
	require.NoError(t, err)
	require.Equal(t, days[1], d)
	_, err = s.SaveDay(ctx, Day{Date: "9 May", Name: "practice"})
	require.ErrorIs(t, err, ErrInvalid)
}

func TestJournalTellsWhoChangedWhatWhen(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine, Who: "daemon"})
	_, err := s.SaveVehicle(t.Context(), Document[gear.Vehicle]{Value: gear.Vehicle{Name: "truck"}})
	require.NoError(t, err)
	v, err := s.SaveVehicle(WithWho(t.Context(), "page"), Document[gear.Vehicle]{Value: gear.Vehicle{Name: "truck", Notes: "new tyres"}})
	require.NoError(t, err)
	_, err = s.SaveVehicle(t.Context(), Document[gear.Vehicle]{Version: 1, Value: gear.Vehicle{Name: "truck"}})
	require.ErrorIs(t, err, ErrConflict)
	got, err := s.Journal(t.Context(), "vehicle", v.ID, 0)
	require.NoError(t, err)
	before, after := json.RawMessage(`{"name":"truck"}`), json.RawMessage(`{"name":"truck","notes":"new tyres"}`)
	require.Equal(t, []Change{
		{ID: 2, At: atNine(), Who: "page", What: "vehicle", Ref: v.ID, Before: before, After: after, Latest: true},
		{ID: 1, At: atNine(), Who: "daemon", What: "vehicle", Ref: v.ID, After: before},
	}, got, "what was refused leaves no line")
	last, err := s.Journal(t.Context(), "", 0, 1)
	require.NoError(t, err)
	require.Equal(t, got[:1], last)
}

func TestSetupIsInForceFromThenOn(t *testing.T) {
	t.Parallel()
	now := atNine()
	s := open(t, t.TempDir(), Options{Now: func() time.Time { return now }})
	cell := newCell(t, s)
	ctx := t.Context()
	_, err := s.Setup(ctx, cell)
	require.ErrorIs(t, err, ErrNotFound)
	d, err := s.SaveDay(ctx, Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: "s4", Name: "of no kind"}})
	require.ErrorIs(t, err, ErrInvalid, "what could not be read back is not written")

	r, err := s.SaveRig(ctx, Document[rig.Rig]{Value: someRig("long")})
	require.NoError(t, err)
	first, err := s.SetSetup(ctx, Setup{Cell: cell, Day: d.ID, Ground: "clay"})
	require.NoError(t, err)
	now = now.Add(time.Hour)
	again, err := s.SetSetup(ctx, Setup{Cell: cell, Day: d.ID, Ground: "clay"})
	require.NoError(t, err)
	require.Equal(t, first, again, "in force already")
	second, err := s.SetSetup(ctx, Setup{Cell: cell, Day: d.ID, Rig: r.ID, Ground: "sand"})
	require.NoError(t, err)

	got, err := s.Setup(ctx, cell)
	require.NoError(t, err)
	require.Equal(t, second, got)
	got, err = s.SetupAt(ctx, cell, second.Since-1)
	require.NoError(t, err)
	require.Equal(t, first, got)
	_, err = s.SetupAt(ctx, cell, first.Since-1)
	require.ErrorIs(t, err, ErrNotFound)
	for _, wrong := range []Setup{{}, {Cell: cell, Day: 9}, {Cell: cell, Rig: 9}, {Cell: cell, Puller: 9}, {Cell: cell, Stuck: 9}} {
		_, err = s.SetSetup(ctx, wrong)
		require.ErrorIs(t, err, ErrNotFound)
	}
}
