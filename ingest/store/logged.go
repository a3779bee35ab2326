package store

import (
	"context"
	"database/sql"
	"encoding/json"
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
		Open: !p.Settled, Speed: p.Speed, PullerMass: p.PullerMass, StuckMass: p.StuckMass, StuckWithin: p.StuckWithin,
	}
}

// LogChanges is what of the log of pulls has changed.
type LogChanges struct {
	Until int64   // the latest change of the journal
	Pulls []int64 // that are other than they were, or new
}

// LogSince tells what Logged gives otherwise since a change of the journal: the
// pulls that were found, measured again or edited, and those of a test day of
// which the date was changed. Since 0, it is all pulls.
func (s *Store) LogSince(ctx context.Context, change int64) (c LogChanges, err error) {
	ask := `SELECT ref FROM journal WHERE what = 'pull' AND id > ?1
		UNION SELECT id FROM pulls WHERE day IN (SELECT ref FROM journal WHERE what = 'day' AND id > ?1)`
	if change == 0 {
		ask = `SELECT id FROM pulls WHERE id > ?1 AND start_ns >= ` + counting
	}
	err = s.read(ctx, "store: read what changed in the log of pulls", func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) FROM journal`).Scan(&c.Until); err != nil || c.Until == change {
			return err
		}
		return eachIn(ctx, tx, func(row scan) error {
			var id int64
			err := row(&id)
			c.Pulls = append(c.Pulls, id)
			return err
		}, ask, change)
	})
	return c, err
}

// LoggedPulls gives the pulls of those numbers as Logged does, in no order. A
// number of no pull, or of one that is set aside, is left out.
func (s *Store) LoggedPulls(ctx context.Context, pulls []int64, zone *time.Location) ([]shock.Logged, error) {
	ids, err := json.Marshal(pulls)
	if err != nil {
		return nil, err
	}
	var found []Pull
	err = s.query(ctx, "store: read pulls", func(row scan) error {
		p, err := readPull(row)
		found = append(found, p.Pull)
		return err
	}, pullColumns+`WHERE id IN (SELECT value FROM json_each(?)) AND start_ns >= `+counting, string(ids))
	if err != nil {
		return nil, err
	}
	return s.Dated(ctx, found, zone)
}
