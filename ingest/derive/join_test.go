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

// corrected keeps a calibration that reads a tenth more, and gives the cell by it.
func corrected(t *testing.T, db *store.Store, c derive.Cell) derive.Cell {
	t.Helper()
	_, err := db.SaveCalibration(t.Context(), store.Calibration{Cell: c.ID, Kept: calibrate.Kept{
		From: start.Format(time.RFC3339), Curve: calibrate.Curve{Coefficients: []float64{0, 4.4}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.01},
	}})
	require.NoError(t, err)
	c, err = derive.Of(t.Context(), db, c.Cell)
	require.NoError(t, err)
	return c
}

// told is what the log and what is found anew say of the whole bench.
func told(t *testing.T, db *store.Store, c derive.Cell) (log, anew []pull.Pull) {
	t.Helper()
	all, err := derive.Settled(t.Context(), db, c)
	require.NoError(t, err)
	for _, p := range all {
		log = append(log, p.Found)
	}
	anew, remarks, err := c.AsSet(t.Context(), db, c.Config(), found(t, db, c), 0, math.MaxInt64)
	require.NoError(t, err)
	assert.Empty(t, remarks)
	return log, anew
}

// agree says that both tell the same, and how many pulls that are.
func agree(t *testing.T, db *store.Store, c derive.Cell, n int) []pull.Pull {
	t.Helper()
	log, anew := told(t, db, c)
	require.Len(t, log, n)
	assert.Equal(t, log, anew, "what is found anew is what the log tells")
	return log
}

// TestPartedIsMeasured: each part by its own readings, again under a corrected
// calibration, and the same where pulls are found anew.
func TestPartedIsMeasured(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	a, b, err := c.Parted(t.Context(), db, all[0], at(20.2))
	require.NoError(t, err)
	first, second, err := db.PartPull(t.Context(), a, b)
	require.NoError(t, err)
	assert.Equal(t, []any{a.Found, b.Found, b.Kind}, []any{first.Found, second.Found, second.Kind}, "what was shown is what was kept")
	assert.InEpsilon(t, 40e3*math.Sin(math.Pi*0.19/0.8), float64(first.Found.Peak), 1e-2, "the last reading before it")
	assert.InEpsilon(t, 40e3, float64(second.Found.Peak), 1e-3)
	assert.Equal(t, []int64{at(20.2), all[0].Found.End}, []int64{second.Found.Start, second.Found.End})
	agree(t, db, c, 3)

	c = corrected(t, db, c)
	stale, err := derive.StalePulls(t.Context(), db, c)
	require.NoError(t, err)
	require.Len(t, stale, 3)
	done, err := derive.Again(t.Context(), db, c, stale)
	require.NoError(t, err)
	for i, was := range []store.Pull{first, second} {
		require.Empty(t, done[i].Problem)
		assert.Equal(t, was.ID, done[i].Is.ID)
		assert.InEpsilon(t, 1.1*float64(was.Found.Peak), float64(done[i].Is.Found.Peak), 1e-6)
	}
	agree(t, db, c, 3)
	stale, err = derive.StalePulls(t.Context(), db, c)
	require.NoError(t, err)
	assert.Empty(t, stale)
	require.NoError(t, db.Integrity(t.Context()))
}

// TestJoinedIsMeasured: from the start of the one to the end of the other, whichever is
// named first; what became a part of it does not come back.
func TestJoinedIsMeasured(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	a, b, err := c.Joined(t.Context(), db, all[1], all[0])
	require.NoError(t, err)
	joined, part, err := db.JoinPulls(t.Context(), a, b)
	require.NoError(t, err)
	assert.Equal(t, []int64{all[0].ID, all[0].Found.Start, all[1].Found.End, joined.ID}, []int64{joined.ID, joined.Found.Start, joined.Found.End, part.Aside.Of})
	assert.InEpsilon(t, float64(all[0].Found.Impulse+all[1].Found.Impulse), float64(joined.Found.Impulse), 1e-2)
	agree(t, db, c, 1)

	c = corrected(t, db, c)
	stale, err := derive.StalePulls(t.Context(), db, c)
	require.NoError(t, err)
	require.Len(t, stale, 1, "what is set aside waits for nothing")
	done, err := derive.Again(t.Context(), db, c, stale)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.1*float64(joined.Found.Peak), float64(done[0].Is.Found.Peak), 1e-6)
	agree(t, db, c, 1)
	require.NoError(t, db.Integrity(t.Context()))
}

// TestMadeIsMeasured: where nothing was found; and what is set aside is not
// found anew either.
func TestMadeIsMeasured(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	none := all[0]
	none.Aside = &store.Aside{}
	_, err := db.SavePull(t.Context(), none)
	require.NoError(t, err)
	assert.Equal(t, all[1].Found, agree(t, db, c, 1)[0])

	p, err := c.Made(t.Context(), db, at(20.1), at(20.7))
	require.NoError(t, err)
	made, err := db.MakePull(t.Context(), p)
	require.NoError(t, err)
	assert.Equal(t, p.Found, made.Found)
	assert.InEpsilon(t, 40e3, float64(made.Found.Peak), 1e-3)
	assert.Equal(t, made.Found, agree(t, db, c, 2)[0])
	c = corrected(t, db, c)
	done, err := derive.Again(t.Context(), db, c, []store.Pull{made})
	require.NoError(t, err)
	is := done[0].Is
	assert.Equal(t, []any{"", made.ID, is.Found}, []any{done[0].Problem, is.ID, is.Limits.Found})
	assert.InEpsilon(t, 1.1*float64(made.Found.Peak), float64(is.Found.Peak), 1e-6)
	require.NoError(t, db.Integrity(t.Context()))
}

// TestWhatCannotBeReviewed is refused with what is wrong, and nothing changes.
func TestWhatCannotBeReviewed(t *testing.T) {
	t.Parallel()
	db, all, c := entered(t)
	ctx := t.Context()
	for _, r := range []struct {
		at   float64
		says string
	}{
		{19, "the moment lies outside the pull"}, {42, "the moment lies outside the pull"},
		{float64(all[0].Found.Start-start.UnixNano()) / 1e9, "the moment lies outside the pull"},
		{20.01, "the first part: "}, {20.795, "the second part: "},
	} {
		_, _, err := c.Parted(ctx, db, all[0], at(r.at))
		require.ErrorIs(t, err, store.ErrLimits, r.says)
		assert.ErrorContains(t, err, r.says)
	}
	other := all[1]
	other.Cell++
	open, aside := all[1], all[1]
	open.Settled, aside.Aside = false, &store.Aside{Who: "Ida"}
	for says, with := range map[string]store.Pull{"not with itself": all[0], "different cells": other, "may still go on": open, "count it again first": aside} {
		_, _, err := c.Joined(ctx, db, all[0], with)
		require.ErrorIs(t, err, store.ErrLimits, says)
		assert.ErrorContains(t, err, says)
	}
	for says, l := range map[string][2]float64{
		"end before it starts": {31, 30}, "more than six hours": {30, 7 * 3600 * 4}, "rises far enough": {30, 35}, "no reading between": {70, 80}, "nothing was recorded at that end": {39, 65},
	} {
		_, err := c.Made(ctx, db, at(l[0]), at(l[1]))
		require.ErrorIs(t, err, store.ErrLimits, says)
		assert.ErrorContains(t, err, says)
	}
	now, err := derive.Settled(ctx, db, c)
	require.NoError(t, err)
	assert.Equal(t, all, now)
}
