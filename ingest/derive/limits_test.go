package derive_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// at is a moment of the bench, seconds from its start.
func at(s float64) int64 { return start.UnixNano() + int64(s*1e9) }

// entered is the bench with its pulls in the log.
func entered(t *testing.T) (*store.Store, []store.Pull, derive.Cell) {
	t.Helper()
	db, cell := bench(t)
	all := enter(t, db, cell)
	c, err := derive.Of(t.Context(), db, cell)
	require.NoError(t, err)
	return db, all, c
}

// limit sets limits of a pull as a person would.
func limit(t *testing.T, db *store.Store, c derive.Cell, p store.Pull, from, to float64) store.Pull {
	t.Helper()
	tried, err := c.WithLimits(t.Context(), db, p, at(from), at(to))
	require.NoError(t, err)
	kept, err := db.SavePull(t.Context(), tried)
	require.NoError(t, err)
	tried.Version, tried.Updated, tried.Limits.At = kept.Version, kept.Updated, kept.Limits.At
	assert.Equal(t, tried, kept, "what was shown before is what was kept")
	return kept
}

// TestStoreAndTraceAgree: limits are measured from the store as from a trace.
func TestStoreAndTraceAgree(t *testing.T) {
	t.Parallel()
	db, cell := bench(t)
	c, err := derive.Of(t.Context(), db, cell)
	require.NoError(t, err)
	got, err := c.Within(t.Context(), db, at(20.1), at(20.7))
	require.NoError(t, err)
	s := pull.NewStretch(c.Config(), at(20.1), at(20.7))
	s.Push(readings(t, db, c))
	want, err := s.Close()
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.InEpsilon(t, 40e3, float64(got.Peak), 1e-3)
}

// TestLimitsAreMeasuredAgain: under a corrected calibration what was found and
// what lies within the limits are both measured again, by index as well; who
// set them stays, and without them the pull is what is found by the new curve.
func TestLimitsAreMeasuredAgain(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	was := limit(t, db, c, all[1], 40.55, 41.5) // behind the top, which is at 40.4
	assert.InEpsilon(t, 40e3*0.8315, float64(was.Found.Peak), 5e-3, "sin(π·0.55/0.8)")
	assert.Equal(t, all[1].Found, was.Limits.Found)

	k := calibrate.Kept{
		From: start.Add(30 * time.Second).Format(time.RFC3339), Curve: calibrate.Curve{Coefficients: []float64{0, 4.4}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.01},
	}
	_, err := db.SaveCalibration(t.Context(), store.Calibration{Cell: c.ID, Kept: k})
	require.NoError(t, err)
	c, err = derive.Of(t.Context(), db, c.Cell)
	require.NoError(t, err)
	stale, err := derive.StalePulls(t.Context(), db, c)
	require.NoError(t, err)
	require.Equal(t, []store.Pull{was}, stale)
	done, err := derive.Again(t.Context(), db, c, stale)
	require.NoError(t, err)
	require.Empty(t, done[0].Problem)
	is := done[0].Is
	assert.InEpsilon(t, 1.1*float64(was.Found.Peak), float64(is.Found.Peak), 1e-6)
	assert.InEpsilon(t, 1.1*float64(was.Limits.Found.Peak), float64(is.Limits.Found.Peak), 1e-6)
	assert.Equal(t, []any{1, 1, was.Limits.Who, was.Limits.From, was.Version}, []any{is.By.Calibration, is.Limits.By.Calibration, is.Limits.Who, is.Limits.From, is.Version})
	stale, err = derive.StalePulls(t.Context(), db, c)
	require.NoError(t, err)
	assert.Empty(t, stale)

	free, err := derive.AsFound(t.Context(), db, is)
	require.NoError(t, err)
	free, err = db.SavePull(t.Context(), free)
	require.NoError(t, err)
	assert.Nil(t, free.Limits)
	assert.Equal(t, is.Limits.Found, free.Found)

	// A curve that comes into force inside the limits: nothing is measured, and
	// the pull stays as it was.
	is = limit(t, db, c, free, 40.1, 41.5)
	k.From = start.Add(40400 * time.Millisecond).Format(time.RFC3339Nano)
	_, err = db.SaveCalibration(t.Context(), store.Calibration{Cell: c.ID, Kept: k})
	require.NoError(t, err)
	c, err = derive.Of(t.Context(), db, c.Cell)
	require.NoError(t, err)
	done, err = derive.Again(t.Context(), db, c, []store.Pull{is})
	require.NoError(t, err)
	assert.Contains(t, done[0].Problem, "came into force between its limits")
	now, err := db.Pull(t.Context(), is.ID)
	require.NoError(t, err)
	assert.Equal(t, is, now)
}

// TestLimitsOfReadings: limits where there is nothing to measure are refused
// with what is wrong, and nothing changes.
func TestLimitsOfReadings(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	for _, l := range []struct {
		from, to float64
		says     string
	}{
		{41, 40, "end before it starts"}, {40.1, 7 * 3600, "more than six hours"},
		{41, 44, "nothing between its limits rises"},
		{-20, -10, "there is no reading between its limits"}, {70, 80, "there is no reading between its limits"},
		{40.2001, 40.2002, "there is no reading between its limits"},
		{-5, 21, "nothing was recorded at that start"}, {40.1, 65, "nothing was recorded at that end"},
		{20.3, 41, "would overlap pull 1 of the same cell"}, {19.9, 21.5, "hold nothing of the pull as it was found"},
	} {
		_, err := c.WithLimits(t.Context(), db, all[1], at(l.from), at(l.to))
		require.ErrorIs(t, err, store.ErrLimits, l.says)
		assert.ErrorContains(t, err, l.says)
	}
	now, err := derive.Settled(t.Context(), db, c)
	require.NoError(t, err)
	assert.Equal(t, all, now)
}

// TestLimitsHoldForWhatIsFoundAnew: what is found again of stored readings tells
// a pull with limits as the log does, within the window that is asked for, and
// the pulls beside it as they are found.
func TestLimitsHoldForWhatIsFoundAnew(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	asSet := func(from, to int64) []pull.Pull {
		t.Helper()
		pulls, remarks, err := c.AsSet(t.Context(), db, c.Config(), found(t, db, c), from, to)
		require.NoError(t, err)
		assert.Empty(t, remarks)
		return pulls
	}
	assert.Equal(t, []pull.Pull{all[0].Found, all[1].Found}, asSet(0, math.MaxInt64), "nobody has set any")
	early := limit(t, db, c, all[0], 20.1, 20.5)
	assert.Equal(t, []pull.Pull{early.Found, all[1].Found}, asSet(0, math.MaxInt64))
	late := limit(t, db, c, all[1], 40.45, 45)
	assert.Equal(t, []pull.Pull{early.Found, late.Found}, asSet(0, math.MaxInt64))

	cut := asSet(at(30), at(40.6))
	require.Len(t, cut, 2, "the first is none of this window's, and nothing of it is told otherwise")
	assert.Equal(t, []int64{all[0].Found.Start, at(40.45), at(40.59)}, []int64{cut[0].Start, cut[1].Start, cut[1].End})
	assert.Len(t, asSet(at(30), at(40.42)), 1, "that pull starts later")

	k := calibrate.Kept{
		From: start.Add(40500 * time.Millisecond).Format(time.RFC3339Nano), Curve: calibrate.Curve{Coefficients: []float64{0, 4.4}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.01},
	}
	_, err := db.SaveCalibration(t.Context(), store.Calibration{Cell: c.ID, Kept: k})
	require.NoError(t, err)
	c, err = derive.Of(t.Context(), db, c.Cell)
	require.NoError(t, err)
	anew := found(t, db, c)
	pulls, remarks, err := c.AsSet(t.Context(), db, c.Config(), anew, at(30), math.MaxInt64)
	require.NoError(t, err)
	assert.Equal(t, anew, pulls)
	require.Len(t, remarks, 1)
	assert.Contains(t, remarks[0], "pull 2 of the log is told as it was found")
}

// TestLimitsOfTooManyReadings: what nobody would wait for is refused by what
// the store says of how much there is, without reading it.
func TestLimitsOfTooManyReadings(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	run := store.Run{Cell: c.ID, Start: at(60), Step: 1e5, Raw: make([]int64, 1_000_000)}
	for range 37 {
		require.NoError(t, db.Append(t.Context(), []store.Run{run}))
		run.Start += 100e9
	}
	_, err := c.WithLimits(t.Context(), db, all[1], at(40.1), at(3700))
	require.ErrorIs(t, err, store.ErrLimits)
	assert.ErrorContains(t, err, "there are 37 million readings between them, and a pull is measured of 36 million at most; set them closer")
	tried, err := c.WithLimits(t.Context(), db, all[1], at(40.1), at(100))
	require.NoError(t, err)
	assert.InEpsilon(t, 40e3, float64(tried.Found.Peak), 1e-3)
}
