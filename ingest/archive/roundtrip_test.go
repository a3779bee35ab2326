//go:build unix

package archive_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/store"
)

// TestRoundTrip pushes readings with fractions of a step, gaps, marks and
// extreme counts over midnight, and wants each back: in this program's eyes and
// in the server's own, to the nanosecond and the bit.
func TestRoundTrip(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "truck 7, left")
	run := noise(l.cell, start, 1e9/320.7, 3000)
	run.Marks = make([]trace.Mark, len(run.Raw))
	run.Marks[17], run.Marks[18], run.Marks[2999] = trace.Overload|trace.Lost, trace.Invalid, trace.Lost
	run.Raw[18], run.Raw[19], run.Raw[20] = math.MaxInt64, math.MinInt64, -1
	borders := store.Run{Cell: l.cell.ID, Start: start + 2e9 + 3599e9, Step: 1e9, Raw: []int64{1, 2, 3}} // the second is on the hour
	l.record(t, run, noise(l.cell, start+60e9, 1e6, 7), borders)

	sum := push(t, t.Context(), l.pusher(t))
	assert.Equal(t, 3010, sum.Readings)
	want := l.kept(t, l.cell)
	connection := l.connect(t)
	there := onlyCell(t, connection)
	assert.Equal(t, "River-1", there.Name)
	assert.Equal(t, "truck 7, left", there.Station)
	assert.Equal(t, l.cell.Curve, there.Known.Curve)
	assert.Equal(t, l.cell.Capacity, there.Known.Capacity)
	assert.Equal(t, want, archivedReadings(t, connection, there))

	for i := range want { // the server knows marks as text, and no newtons of a void reading
		if want[i].Mark&trace.Invalid != 0 {
			want[i].Bits = 0
		}
		want[i].Mark = 0
	}
	assert.Equal(t, want, queriedReadings(t, server, bucket, "River-1"))
	marks := server.Query(t, bucket, `SELECT mark FROM line_force`)
	require.Len(t, marks, 1)
	var words []any
	for _, v := range marks[0].Values {
		words = append(words, v[1])
	}
	assert.Equal(t, []any{"overload lost", "invalid", "lost"}, words)
	tags := server.Query(t, bucket, `SHOW TAG VALUES FROM line_force WITH KEY = "day"`)
	assert.Equal(t, [][]any{{"day", "2026-03-14"}, {"day", "2026-03-15"}}, tags[0].Values)
}

// TestNames pushes cells whose names would break a line or a question.
func TestNames(t *testing.T) {
	t.Parallel()
	_, _, l := shared(t, "")
	for i, name := range []string{`a,b=c d`, `tail\`, `" or r.cell != "`, "two\nlines", "${here}", "tail_", "Fluß 3 – links"} {
		c := l.newCell(t, name)
		l.record(t, noise(c, start+int64(i), 1e6, 10+i))
	}
	assert.Equal(t, 7*10+21, push(t, t.Context(), l.pusher(t)).Readings)
	connection := l.connect(t)
	cells, err := connection.Cells(t.Context())
	require.NoError(t, err)
	require.Len(t, cells, 8)
	for _, c := range cells {
		own, err := l.store.CellByName(t.Context(), c.Known.Name)
		require.NoError(t, err)
		assert.Equal(t, l.kept(t, own), archivedReadings(t, connection, c), c.Name)
	}
}

// TestRepeats pushes the same again and again, and from a program that has
// forgotten how far it was.
func TestRepeats(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	l.record(t, noise(l.cell, start, 1e6, 50_000))
	_, err := l.store.SavePull(t.Context(), store.Pull{Cell: l.cell.ID, Found: found(start), Settled: true})
	require.NoError(t, err)
	assert.Equal(t, 50_000, push(t, t.Context(), l.pusher(t)).Readings)
	assert.Zero(t, push(t, t.Context(), l.pusher(t)), "nothing new")

	c, err := l.store.ArchivedCells(t.Context(), l.settings.Address())
	require.NoError(t, err)
	_, err = l.store.Rescale(t.Context(), c[0], c[0].Scale, math.MinInt64)
	require.NoError(t, err)
	assert.Equal(t, 50_000, l.state(t).Readings)
	assert.Equal(t, 50_000, push(t, t.Context(), l.pusher(t)).Readings)
	assert.Equal(t, 50_000, server.Count(t, bucket, "line_force", "raw"))
	assert.Equal(t, 1, server.Count(t, bucket, "pull", "pull_id"))
	assert.Equal(t, l.kept(t, l.cell), queriedReadings(t, server, bucket, "River-1"))
	assert.Zero(t, l.state(t).Readings)
}

// TestCorrectedCalibration wants the newtons of everything worked out anew,
// and the counts as they were.
func TestCorrectedCalibration(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	l.record(t, noise(l.cell, start, 1e6, 3000))
	pusher := l.pusher(t)
	push(t, t.Context(), pusher)
	l.cell.Curve.Coefficients = []float64{-3000, 4.25}
	var err error
	l.cell, err = l.store.SaveCell(t.Context(), l.cell)
	require.NoError(t, err)
	l.record(t, noise(l.cell, start+10e9, 1e6, 100))
	assert.Equal(t, 3100, push(t, t.Context(), pusher).Readings)
	assert.Equal(t, l.kept(t, l.cell), queriedReadings(t, server, bucket, "River-1"))
	assert.Equal(t, l.cell.Curve, onlyCell(t, l.connect(t)).Known.Curve)
}

// TestAddedBehind imports what is older than what the archive has.
func TestAddedBehind(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	l.record(t, noise(l.cell, start, 1e6, 1000))
	push(t, t.Context(), l.pusher(t))
	l.record(t, noise(l.cell, start-3600e9, 1e6, 700))
	assert.Equal(t, 700, l.state(t).Readings)
	assert.Equal(t, 700, push(t, t.Context(), l.pusher(t)).Readings)
	assert.Equal(t, l.kept(t, l.cell), queriedReadings(t, server, bucket, "River-1"))
}

// TestPulls pushes a pull, edits it, finds it again with another start, and
// wants one point that says what the store says.
func TestPulls(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	ctx := t.Context()
	day, err := l.store.SaveDay(ctx, store.Day{Date: "2026-03-14", Name: "river bar"})
	require.NoError(t, err)
	_, err = l.store.SavePull(ctx, store.Pull{Cell: l.cell.ID, Found: found(start - 90e9)})
	require.NoError(t, err)
	p, err := l.store.SavePull(ctx, store.Pull{Cell: l.cell.ID, Day: day.ID, Ground: "wet sand", Found: found(start), Settled: true})
	require.NoError(t, err)
	pusher := l.pusher(t)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls, "the one that is not settled is not pushed")

	speed := unit.Speed(2.5)
	p.Ground, p.Notes, p.Speed = "silt", "bow \"wave\"\nat the end, C:\\x", &speed
	p, err = l.store.SavePull(ctx, p)
	require.NoError(t, err)
	assert.Equal(t, 1, l.state(t).Pulls)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls)
	again := found(start - 3_000_001)
	_, err = l.store.SavePull(ctx, store.Pull{Cell: l.cell.ID, Day: day.ID, Found: again, Settled: true})
	require.NoError(t, err)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls)
	assert.Zero(t, push(t, ctx, pusher).Pulls)

	got := server.Query(t, bucket, `SELECT start_ns, peak_N, steady_N, ground, notes, speed_mps, flags, test_day, kind FROM pull`)
	require.Len(t, got, 1)
	require.Len(t, got[0].Values, 1)
	v := got[0].Values[0]
	assert.Equal(t, start, integer(t, v[0]), "the time of the point stays")
	assert.Equal(t, start-3_000_001, integer(t, v[1]))
	assert.Equal(t, []any{json.Number("40000.5"), json.Number("12345.678"), "silt", "bow \"wave\"\nat the end, C:\\x", json.Number("2.5"), "spikes left out, gap", "2026-03-14 river bar", "steady"}, v[2:])

	back, err := l.connect(t).Pulls(ctx, onlyCell(t, l.connect(t)), math.MinInt64, math.MaxInt64)
	require.NoError(t, err)
	require.Len(t, back, 1)
	want, err := l.store.Pull(ctx, p.ID)
	require.NoError(t, err)
	assert.Equal(t, want.Found, back[0].Found)
	assert.Equal(t, []any{want.Ground, want.Notes, want.Speed, want.Kind, "2026-03-14 river bar"}, []any{back[0].Ground, back[0].Notes, back[0].Speed, back[0].Kind, back[0].TestDay})
}

// TestLimits sets the start and the end of a pull that the archive has: the
// same point says what was measured between them and who set them, also after
// they were taken away, and another store takes them over with what was found.
func TestLimits(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	ctx := store.WithWho(t.Context(), "Ida")
	l.record(t, noise(l.cell, start-1e9, 1e6, 3000))
	p, err := l.store.SavePull(ctx, store.Pull{Cell: l.cell.ID, Found: found(start), Settled: true})
	require.NoError(t, err)
	pusher := l.pusher(t)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls)
	said := func() []any {
		got := server.Query(t, bucket, `SELECT start_ns, peak_N, limits_set_by FROM pull`)
		require.Len(t, got, 1)
		require.Len(t, got[0].Values, 1)
		return got[0].Values[0]
	}
	assert.Equal(t, "", said()[3])

	edit := p
	edit.Limits, edit.Found = &store.Limits{From: start + 2e8, To: start + 9e8}, found(start+2e8)
	edit.Found.End, edit.Found.Peak, edit.Found.Flags = start+9e8, 30_000.25, []string{pull.FlagSetByHand}
	limited, err := l.store.SavePull(ctx, edit)
	require.NoError(t, err)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls)
	v := said()
	assert.Equal(t, start+int64(2e8), integer(t, v[1]))
	assert.Equal(t, []any{json.Number("30000.25"), "Ida"}, v[2:])

	other := newLaptop(t, server.URL, bucket, "other")
	_, err = l.connect(t).Fetch(t.Context(), onlyCell(t, l.connect(t)), other.store, "Lent", math.MinInt64, math.MaxInt64)
	require.NoError(t, err)
	taken, err := other.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, taken, 1)
	assert.Equal(t, []any{limited.Found, limited.Limits}, []any{taken[0].Found, taken[0].Limits})
	again, err := l.connect(t).Fetch(t.Context(), onlyCell(t, l.connect(t)), other.store, "Lent", math.MinInt64, math.MaxInt64)
	require.NoError(t, err)
	assert.Zero(t, again.Pulls)

	limited.Limits = nil
	_, err = l.store.SavePull(ctx, limited)
	require.NoError(t, err)
	assert.Equal(t, 1, push(t, ctx, pusher).Pulls)
	v = said()
	assert.Equal(t, []any{start, "", json.Number("40000.5")}, []any{integer(t, v[1]), v[3], v[2]})
}

// TestReviewed parts a pull, joins two and sets one aside that the archive has or has
// not: another store takes over what counts, and what is set aside as that.
func TestReviewed(t *testing.T) {
	t.Parallel()
	server, bucket, l := shared(t, "")
	ctx := store.WithWho(t.Context(), "Ida")
	l.record(t, noise(l.cell, start-1e9, 1e6, 3000))
	between := func(p store.Pull, from, to int64) store.Pull {
		p.Limits, p.Found = &store.Limits{From: from, To: to}, found(from)
		p.Found.End, p.Found.PeakAt, p.Found.Flags = to, from+1, []string{pull.FlagSetByHand}
		return p
	}
	save := func(from int64) store.Pull {
		f := found(from)
		f.End, f.PeakAt = from+2e8, from+1e8
		p, err := l.store.SavePull(ctx, store.Pull{Cell: l.cell.ID, Found: f, Settled: true})
		require.NoError(t, err)
		return p
	}
	one, two, three, none := save(start), save(start+4e8), save(start+8e8), save(start+12e8)
	pusher := l.pusher(t)
	assert.Equal(t, 4, push(t, ctx, pusher).Pulls)

	_, _, err := l.store.JoinPulls(ctx, between(one, one.Found.Start, two.Found.End), two)
	require.NoError(t, err)
	_, second, err := l.store.PartPull(ctx, between(three, three.Found.Start, three.Found.Start+1e8-1), between(store.Pull{}, three.Found.Start+1e8, three.Found.End))
	require.NoError(t, err)
	none.Aside = &store.Aside{}
	_, err = l.store.SavePull(ctx, none)
	require.NoError(t, err)
	gone := save(start + 16e8) // that the archive never had
	gone.Aside = &store.Aside{}
	_, err = l.store.SavePull(ctx, gone)
	require.NoError(t, err)
	assert.Equal(t, 5, push(t, ctx, pusher).Pulls)
	assert.Zero(t, push(t, ctx, pusher).Pulls)
	got := server.Query(t, bucket, `SELECT pull_id, set_aside_by FROM pull`)
	require.Len(t, got, 1)
	require.Len(t, got[0].Values, 5)
	aside := 0
	for _, v := range got[0].Values {
		if v[2] == "Ida" {
			aside++
		}
	}
	assert.Equal(t, 2, aside)

	other := newLaptop(t, server.URL, bucket, "other")
	for _, want := range []int{5, 0} {
		f, err := l.connect(t).Fetch(t.Context(), onlyCell(t, l.connect(t)), other.store, "Lent", math.MinInt64, math.MaxInt64)
		require.NoError(t, err)
		assert.Equal(t, want, f.Pulls)
		for _, which := range []bool{false, true} {
			mine, err := l.store.Pulls(t.Context(), store.PullFilter{Aside: which})
			require.NoError(t, err)
			mine = slices.DeleteFunc(mine, func(p store.Pull) bool { return p.ID == gone.ID })
			theirs, err := other.store.Pulls(t.Context(), store.PullFilter{Aside: which})
			require.NoError(t, err)
			require.Len(t, theirs, len(mine))
			starts := map[int64]int64{} // with their ends, in any order
			for i := range mine {
				starts[mine[i].Found.Start] = mine[i].Found.End
			}
			for _, p := range theirs {
				assert.Equal(t, starts[p.Found.Start], p.Found.End)
				assert.Equal(t, p.Found.Start == second.Found.Start, p.Limits != nil && p.Limits.Made)
			}
		}
		require.NoError(t, other.store.Integrity(t.Context()))
	}
}
