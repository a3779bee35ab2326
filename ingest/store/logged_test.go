package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

func TestLoggedGivesWhatIsKnownOfEachPull(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	d, err := s.SaveDay(ctx, Day{Date: "2026-05-10", Name: "night exercise"})
	require.NoError(t, err)
	r, speed, puller, stuck := someRig("long"), unit.Speed(2), unit.Mass(2700), unit.Mass(3300)
	late := foundAt(morning+15*3600*second, morning+15*3600*second+second) // 23:00 UTC on 9 May
	for _, p := range []Pull{
		{Found: foundAt(morning, morning+second), Day: d.ID, Rig: &r, Ground: "Mud", Settled: true, Kind: pull.Proof, Speed: &speed, PullerMass: &puller, StuckMass: &stuck},
		{Found: late},
	} {
		p.Cell = cell
		_, err := s.SavePull(ctx, p)
		require.NoError(t, err)
	}
	got, err := s.Logged(ctx, PullFilter{}, time.FixedZone("east", 2*3600))
	require.NoError(t, err)
	require.Equal(t, []shock.Logged{
		{ID: "pull 1", Number: 1, Day: "2026-05-10", Kind: pull.Proof, Ground: "Mud", Rig: &r, Cell: "cell " + t.Name(), Found: foundAt(morning, morning+second), Speed: &speed, PullerMass: &puller, StuckMass: &stuck},
		{ID: "pull 2", Number: 2, Day: "2026-05-10", Kind: pull.Kinetic, Cell: "cell " + t.Name(), Found: late, Open: true},
	}, got)
	got, err = s.Logged(ctx, PullFilter{From: morning + 1}, time.UTC)
	require.NoError(t, err)
	require.Len(t, got, 1)
	require.Equal(t, "2026-05-09", got[0].Day)
}
