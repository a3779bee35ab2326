package derive_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

var start = time.Date(2026, 5, 17, 9, 0, 0, 0, time.UTC)

// bench is a store with a cell and a minute of its readings, 100 a second, 4 N
// a count: a half-sine of 0.8 s up to 40 kN at second 20 and one at second 40.
func bench(t *testing.T) (*store.Store, store.Cell) {
	t.Helper()
	db, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	cell, err := db.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 4}}, Capacity: 100e3, Rate: 100})
	require.NoError(t, err)
	run := store.Run{Cell: cell.ID, Start: start.UnixNano(), Step: 1e7}
	for i := range 6000 {
		raw := int64(i*7%5) - 2
		for _, begins := range []float64{20, 40} {
			if x := (float64(i)/100 - begins) / 0.8; x > 0 && x < 1 {
				raw += int64(10e3 * math.Sin(math.Pi*x))
			}
		}
		run.Raw = append(run.Raw, raw)
	}
	require.NoError(t, db.Append(t.Context(), []store.Run{run}))
	return db, cell
}

// enter finds the pulls and saves them, as a daemon would.
func enter(t *testing.T, db *store.Store, cell store.Cell) []store.Pull {
	t.Helper()
	known, err := derive.Of(t.Context(), db, cell)
	require.NoError(t, err)
	for _, p := range found(t, db, known) {
		_, err := db.SavePull(t.Context(), store.Pull{Cell: cell.ID, Found: p, By: known.By(p.PeakAt), Settled: true})
		require.NoError(t, err)
	}
	all, err := derive.Settled(t.Context(), db, known)
	require.NoError(t, err)
	return all
}

func found(t *testing.T, db *store.Store, c derive.Cell) []pull.Pull {
	t.Helper()
	finder := pull.NewFinder(c.Config())
	return append(finder.Push(readings(t, db, c)), finder.Close()...)
}

// readings are all that a cell has, as one trace.
func readings(t *testing.T, db *store.Store, c derive.Cell) (all trace.Batch) {
	t.Helper()
	for run, err := range db.Runs(t.Context(), c.ID, 0, math.MaxInt64) {
		require.NoError(t, err)
		b := c.Batch(trace.Batch{}, run)
		all.T, all.F = append(all.T, b.T...), append(all.F, b.F...)
	}
	return all
}

// A calibration that comes later changes the numbers of just the pulls since it
// holds, keeps what people entered, and leaves what they were in the journal.
func TestPullsAreMeasuredAgain(t *testing.T) {
	t.Parallel()
	db, cell := bench(t)
	was := enter(t, db, cell)
	require.Len(t, was, 2)
	assert.Contains(t, was[1].Found.Flags, pull.FlagNoCalibration)
	edited := was[1]
	edited.Notes, edited.Kind = "wet strap", pull.Proof
	_, err := db.SavePull(t.Context(), edited)
	require.NoError(t, err)

	k := calibrate.Kept{
		From: start.Add(30 * time.Second).Format(time.RFC3339), Curve: calibrate.Curve{Coefficients: []float64{0, 4.4}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.01},
	}
	_, err = db.SaveCalibration(t.Context(), store.Calibration{Cell: cell.ID, Kept: k})
	require.NoError(t, err)
	known, err := derive.Of(t.Context(), db, cell)
	require.NoError(t, err)
	stale, err := derive.StalePulls(t.Context(), db, known)
	require.NoError(t, err)
	require.Len(t, stale, 1)
	done, err := derive.Again(t.Context(), db, known, stale)
	require.NoError(t, err)
	require.Len(t, done, 1)
	assert.Empty(t, done[0].Problem)

	is, err := db.Pull(t.Context(), was[1].ID)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.1*float64(was[1].Found.Peak), float64(is.Found.Peak), 1e-6)
	assert.Equal(t, []any{"wet strap", pull.Proof, 1}, []any{is.Notes, is.Kind, is.By.Calibration})
	assert.NotContains(t, is.Found.Flags, pull.FlagNoCalibration)
	term := is.Found.Terms[0]
	assert.Equal(t, "calibration", term.Name)
	assert.InEpsilon(t, 0.01*float64(is.Found.Peak), float64(term.High), 1e-3)
	assert.Less(t, float64(is.Found.PeakLow), 0.9901*float64(is.Found.Peak))
	other, err := db.Pull(t.Context(), was[0].ID)
	require.NoError(t, err)
	assert.Equal(t, was[0], other)

	changes, err := db.Journal(t.Context(), "pull", is.ID, 1)
	require.NoError(t, err)
	assert.Contains(t, string(changes[0].Before), `"no calibration"`)
	stale, err = derive.StalePulls(t.Context(), db, known)
	require.NoError(t, err)
	assert.Empty(t, stale)
}

// A zero takes its level off from its time on; the step there is no pull, and
// the raw readings are what they were.
func TestAZeroIsNoPull(t *testing.T) {
	t.Parallel()
	db, cell := bench(t)
	// 3 kN of gear hang on the cell from second 30 on, as if it read 750 less.
	_, err := db.SaveZero(t.Context(), store.Zero{Cell: cell.ID, Zero: calibrate.Zero{At: start.Add(30 * time.Second).UnixNano(), Kind: calibrate.Tare, Reading: -750}})
	require.NoError(t, err)
	known, err := derive.Of(t.Context(), db, cell)
	require.NoError(t, err)
	pulls := found(t, db, known)
	require.Len(t, pulls, 2)
	assert.InDelta(t, 40e3, float64(pulls[0].Peak), 100)
	assert.InDelta(t, 43e3, float64(pulls[1].Peak), 100)
	assert.InDelta(t, 3e3, float64(pulls[1].Standing), 10, "the level after it is a standing tension")
}

// The flags of what is known: nothing, a certificate that has run out, a peak
// above what was calibrated.
func TestWhatIsSaidOfTheCalibration(t *testing.T) {
	t.Parallel()
	db, cell := bench(t)
	cases := map[string]struct {
		certificate calibrate.Certificate
		flags       []string
	}{
		"holds":           {calibrate.Certificate{Number: "LF-1", Relative95: 0.01, Expires: "2026-05-17"}, nil},
		"has run out":     {calibrate.Certificate{Number: "LF-2", Relative95: 0.01, Expires: "2026-05-16"}, []string{pull.FlagExpired}},
		"was not so high": {calibrate.Certificate{Number: "LF-3", Relative95: 0.01, High: 30e3}, []string{pull.FlagBeyondCalibration}},
		"states nothing":  {calibrate.Certificate{Number: "LF-4"}, []string{pull.FlagNoCalibration}},
	}
	for name, c := range cases {
		h, err := calibrate.NewHistory(cell.Curve, []calibrate.Kept{{
			Number: 1, From: "2026-01-01T00:00:00Z", Curve: cell.Curve, Certificate: &c.certificate,
		}}, nil)
		require.NoError(t, err)
		pulls := found(t, db, derive.Cell{Cell: cell, History: h})
		require.Len(t, pulls, 2, name)
		var flags []string
		for _, f := range pulls[0].Flags {
			if f == pull.FlagNoCalibration || f == pull.FlagExpired || f == pull.FlagBeyondCalibration {
				flags = append(flags, f)
			}
		}
		assert.Equal(t, c.flags, flags, name)
		assert.Len(t, pulls[0].Remarks, len(pulls[0].Flags), name)
	}
}
