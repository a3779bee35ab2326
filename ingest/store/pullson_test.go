package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestPullsOfADate(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	west := time.FixedZone("five hours behind", -5*3600)
	day, err := s.SaveDay(t.Context(), Day{Date: "2026-05-09", Name: "river bar"})
	require.NoError(t, err)
	at := func(hour int, day int64) int64 {
		start := time.Date(2026, 5, 9, hour, 0, 0, 0, west).UnixNano()
		p, err := s.SavePull(t.Context(), Pull{Cell: cell, Day: day, Found: foundAt(start, start+second)})
		require.NoError(t, err)
		return p.ID
	}
	before, first, last, behind := at(-1, 0), at(0, 0), at(23, 0), at(24, 0)
	late := at(30, day.ID) // entered as one of the test day

	ids := func(date string) (ids []int64) {
		pulls, err := s.PullsOn(t.Context(), date, west)
		require.NoError(t, err)
		for _, p := range pulls {
			ids = append(ids, p.ID)
		}
		return ids
	}
	require.Equal(t, []int64{late, last, first}, ids("2026-05-09"))
	require.Equal(t, []int64{before}, ids("2026-05-08"))
	require.Equal(t, []int64{behind}, ids("2026-05-10"), "the late one is the test day's")
	require.Empty(t, ids("2026-05-11"))
	_, err = s.PullsOn(t.Context(), "9 May", west)
	requireSentence(t, err, ErrInvalid, "9 May", "2026-05-17")
}
