package store

import (
	"database/sql"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

func keptCurve(slope float64, from string) calibrate.Kept {
	return calibrate.Kept{
		From: from, Curve: calibrate.Curve{Coefficients: []float64{0, slope}}, Certificate: &calibrate.Certificate{Number: "LF-1", Absolute95: 5},
	}
}

// Calibrations get the next number, never change, and can be taken out of force
// and brought back; each of that stands in the journal.
func TestCalibrationsAreKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Who: "A. Keeper"})
	cell, err := s.SaveCell(t.Context(), Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}})
	require.NoError(t, err)
	save := func(k calibrate.Kept) Calibration {
		c, err := s.SaveCalibration(t.Context(), Calibration{Cell: cell.ID, Kept: k})
		require.NoError(t, err)
		return c
	}
	first := save(keptCurve(2, "2026-05-01T00:00:00Z"))
	assert.Equal(t, 1, first.Number)
	assert.Equal(t, "A. Keeper", first.Who)
	assert.Equal(t, first, save(keptCurve(2, "2026-05-01T00:00:00Z")), "the same again changes nothing")
	second := save(keptCurve(3, "2026-05-01T00:00:00Z"))
	assert.Equal(t, 2, second.Number)

	at := time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC).UnixNano()
	force := func() unit.Force {
		h, err := s.History(t.Context(), cell)
		require.NoError(t, err)
		return h.At(at).Curve.Force(10)
	}
	assert.EqualValues(t, 30, force())
	require.NoError(t, s.Remove(t.Context(), "calibration", second.ID, second.Version))
	assert.EqualValues(t, 20, force())
	third := save(keptCurve(4, "2026-05-01T00:00:00Z"))
	assert.Equal(t, 3, third.Number, "no number comes twice")
	changes, err := s.Journal(t.Context(), "calibration", second.ID, 0)
	require.NoError(t, err)
	require.Len(t, changes, 2)
	_, err = s.Undo(t.Context(), changes[0].ID)
	require.NoError(t, err)
	assert.EqualValues(t, 40, force(), "the highest number holds")
	_, err = s.Undo(t.Context(), latestOf(t, s, "calibration", third.ID))
	require.NoError(t, err)
	assert.EqualValues(t, 30, force())

	_, err = s.SaveCalibration(t.Context(), Calibration{Cell: cell.ID, Kept: calibrate.Kept{}})
	assert.ErrorIs(t, err, ErrInvalid)
	_, err = s.SaveCalibration(t.Context(), Calibration{Cell: 99, Kept: keptCurve(2, "2026-05-01T00:00:00Z")})
	assert.ErrorIs(t, err, ErrNotFound)
	err = s.write(t.Context(), "spoil", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(t.Context(), `UPDATE calibrations SET doc = '{}'`)
		return err
	})
	assert.ErrorContains(t, err, "does not change")
	require.NoError(t, s.Integrity(t.Context()))
}

// A zero holds from its time on, and taking it back is a change like any other.
func TestZerosAreKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Who: "A. Keeper"})
	cell, err := s.SaveCell(t.Context(), Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 4}}})
	require.NoError(t, err)
	z, err := s.SaveZero(t.Context(), Zero{Cell: cell.ID, Zero: calibrate.Zero{At: 1000, Kind: calibrate.Slack, Reading: 25}})
	require.NoError(t, err)
	assert.Equal(t, "A. Keeper", z.Who)
	force := func(at int64) unit.Force {
		h, err := s.History(t.Context(), cell)
		require.NoError(t, err)
		return h.At(at).Curve.Force(25)
	}
	assert.EqualValues(t, 100, force(999))
	assert.EqualValues(t, 0, force(1000))
	_, err = s.Undo(t.Context(), latestOf(t, s, "zero", z.ID))
	require.NoError(t, err)
	assert.EqualValues(t, 100, force(1000))
}

func latestOf(t *testing.T, s *Store, what string, ref int64) int64 {
	t.Helper()
	changes, err := s.Journal(t.Context(), what, ref, 1)
	require.NoError(t, err)
	require.Len(t, changes, 1)
	return changes[0].ID
}

// A check is kept with the day that is in force; a draft grows point by point,
// and two people who take points at once lose none.
func TestChecksAndDraftsAreKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Who: "A. Keeper"})
	cell, err := s.SaveCell(t.Context(), Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 4}}})
	require.NoError(t, err)
	day, err := s.SaveDay(t.Context(), Day{Date: "2026-05-17", Name: "drill"})
	require.NoError(t, err)
	set, err := s.SetSetup(t.Context(), Setup{Cell: cell.ID, Day: day.ID})
	require.NoError(t, err)
	half := unit.Force(50)
	c, err := s.SaveCheck(t.Context(), Check{Cell: cell.ID, Check: calibrate.Check{At: set.Since + 1, Reading: 25, Force: 100, Half95: &half}})
	require.NoError(t, err)
	assert.Equal(t, day.ID, c.Day)
	all, err := s.Checks(t.Context(), cell.ID)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, c, all[0])
	require.NoError(t, s.Remove(t.Context(), "check", c.ID, c.Version))
	all, err = s.Checks(t.Context(), cell.ID)
	require.NoError(t, err)
	assert.Empty(t, all)

	d, err := s.Draft(t.Context(), cell.ID)
	require.NoError(t, err)
	d.Points = []Taken{{Point: calibrate.Point{Reading: 1}}}
	first, err := s.SaveDraft(t.Context(), d)
	require.NoError(t, err)
	other := first
	first.Points = append(first.Points, Taken{Point: calibrate.Point{Reading: 2, Force: 4}})
	first, err = s.SaveDraft(t.Context(), first)
	require.NoError(t, err)
	_, err = s.SaveDraft(t.Context(), Draft{Version: other.Version, Cell: cell.ID})
	require.ErrorIs(t, err, ErrConflict)
	got, err := s.Draft(t.Context(), cell.ID)
	require.NoError(t, err)
	assert.Equal(t, first, got)
	require.NoError(t, s.Integrity(t.Context()))
}
