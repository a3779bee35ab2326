package gather_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/gather"
	"tautlog/dashboards/logbook"
	"tautlog/ingest/store"
)

// logOf is a store with pulls of two kinds on four days.
func logOf(t *testing.T) *store.Store {
	t.Helper()
	db, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	cell, err := db.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 1e5, Rate: 1000})
	require.NoError(t, err)
	gvm := unit.Mass(2800)
	r := rig.Rig{Name: "single strap", Pulling: gear.Vehicle{Name: "Heron", GVM: &gvm}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm},
		Chain: []rig.Link{rig.InLine(gear.Item{ID: "c1", Name: "River-1", Kind: gear.LoadCell}), rig.InLine(gear.Item{ID: "b9", Name: "blue strap 9 m", Kind: gear.RecoveryStrap})}}
	for day := range 4 {
		for n := range 4 {
			at := time.Date(2026, 3, 10+day, 10, n, 0, 0, time.UTC).UnixNano()
			peak := unit.Force(20e3 + 1e3*float64(day+3*n))
			kind := []pull.Kind{pull.Kinetic, pull.Steady}[n/3]
			_, err = db.SavePull(t.Context(), store.Pull{Cell: cell.ID, Rig: &r, Ground: "silt", Settled: true, Found: pull.Pull{
				Start: at, End: at + 1e9, PeakAt: at + 5e8, Kind: kind, Peak: peak, PeakLow: 0.99 * peak, PeakHigh: 1.01 * peak, Rate: 1000,
			}})
			require.NoError(t, err)
		}
	}
	return db
}

// TestEvidenceIsThatOfAllKinds compares what is fitted of the kinds of a report
// with a fit of the whole log, from the store and from memory.
func TestEvidenceIsThatOfAllKinds(t *testing.T) {
	t.Parallel()
	db := logOf(t)
	logged, err := db.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	var all, without []shock.Pull
	for _, l := range logged {
		p := shock.FromLog(l)
		all = append(all, p)
		if p.Day != "2026-03-11" {
			without = append(without, p)
		}
	}
	for name, log := range map[string]gather.Evidence{"store": gather.FromStore(db, time.UTC), "book": gather.FromBook(logbook.New(db, time.UTC))} {
		s, err := gather.Report(t.Context(), db, log, gather.Ask{Day: "2026-03-11", Zone: time.UTC, Unit: unit.Kilonewton})
		require.NoError(t, err, name)
		assert.Len(t, s.Pulls, 4)
		assert.Equal(t, shock.Fit(all).Classes, s.Log.With, name)
		assert.Equal(t, shock.Fit(without).Classes, s.Log.Without, name)
		assert.True(t, s.Pulls[0].At.Before(s.Pulls[3].At), "the earliest first")

		s, err = gather.Report(t.Context(), db, log, gather.Ask{Pull: int64(logged[0].Number), Zone: time.UTC, Unit: unit.Kilonewton})
		require.NoError(t, err, name)
		assert.Len(t, s.Log.With, 1, "of the one kind that is told")
		assert.Equal(t, "2026-03-10", s.Date)
	}
}

// TestNothingToReport names what there is.
func TestNothingToReport(t *testing.T) {
	t.Parallel()
	db := logOf(t)
	log := gather.FromStore(db, time.UTC)
	for want, ask := range map[string]gather.Ask{
		"there are no pulls on 2026-04-01, but some on 2026-03-10, 2026-03-11, 2026-03-12, 2026-03-13": {Day: "2026-04-01"},
		"there is no pull 99": {Pull: 99},
	} {
		ask.Zone = time.UTC
		_, err := gather.Report(t.Context(), db, log, ask)
		require.ErrorIs(t, err, gather.ErrNothing)
		assert.ErrorContains(t, err, want)
	}
	empty, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, empty.Close()) })
	_, err = gather.Report(t.Context(), empty, gather.FromStore(empty, time.UTC), gather.Ask{Pull: 1, Zone: time.UTC})
	assert.EqualError(t, err, fmt.Sprintf("%v: there are no pulls yet", gather.ErrNothing))
}
