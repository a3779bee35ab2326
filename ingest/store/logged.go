package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tautlog/analysis/shock"
)

// Logged gives the pulls that a filter chooses as a fit of multipliers takes
// them (shock.FromLog), the earliest first. The day of a pull is the date of its
// test day, or that of its start in the zone where it has none.
func (s *Store) Logged(ctx context.Context, f PullFilter, zone *time.Location) ([]shock.Logged, error) {
	pulls, err := s.Pulls(ctx, f)
	if err != nil {
		return nil, err
	}
	slices.Reverse(pulls)
	return s.Dated(ctx, pulls, zone)
}

// Dated gives pulls as Logged does, in the order given.
func (s *Store) Dated(ctx context.Context, pulls []Pull, zone *time.Location) ([]shock.Logged, error) {
	days, err := dayShelf().list(ctx, s, "") // also those that were removed: their pulls keep the date
	if err != nil {
		return nil, err
	}
	dates := map[int64]string{}
	for _, d := range days {
		dates[d.ID] = d.Value.Date
	}
	out := make([]shock.Logged, len(pulls))
	for i, p := range pulls {
		date := dates[p.Day]
		if date == "" {
			date = time.Unix(0, p.Found.Start).In(zone).Format(time.DateOnly)
		}
		out[i] = p.logged(date)
	}
	return out, nil
}

func (p Pull) logged(date string) shock.Logged {
	return shock.Logged{
		ID: fmt.Sprintf("pull %d", p.ID), Number: int(p.ID), Day: date, Kind: p.Kind, Ground: p.Ground, Rig: p.Rig, Cell: p.Read, Found: p.Found,
		Open: !p.Settled, Speed: p.Speed, PullerMass: p.PullerMass, StuckMass: p.StuckMass,
	}
}
