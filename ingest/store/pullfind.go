package store

import (
	"cmp"
	"context"
	"database/sql"
	"slices"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/words"
)

// PullFilter chooses pulls. Zero fields choose everything.
type PullFilter struct {
	From, To  int64 // start in [From, To), ns UTC; To 0: no end
	Cell, Day int64
	Item      int64     // an item of the register that was in it
	Vehicle   int64     // a vehicle of the register that stood at one of its ends
	Kind      pull.Kind // as shown
	Ground    string    // letter by letter
	Aside     bool      // those that are set aside, in place of those that count; From and To are not heeded
	Before    int64     // the ID of a pull: only what comes behind it in the list
	Limit     int
}

// Pulls gives the pulls that a filter chooses, the latest first. It goes along
// an index in that order, so that a page costs what it holds, however many
// pulls there are.
func (s *Store) Pulls(ctx context.Context, f PullFilter) (out []Pull, err error) {
	err = s.read(ctx, "store: read pulls", func(tx *sql.Tx) error {
		c, err := f.conditions(ctx, tx)
		if err != nil {
			return err
		}
		return eachIn(ctx, tx, func(row scan) error {
			p, err := readPull(row)
			out = append(out, p.Pull)
			return err
		}, pullColumns+c.from+c.where()+` ORDER BY `+c.start+` DESC, `+c.id+` DESC LIMIT ?`, append(c.args, orAll(f.Limit))...)
	})
	return out, err
}

// PullsWithLimits gives the pulls of a cell that a person has set limits to, made
// or set aside, and that take up some of the time from one moment up to, not
// including, another, ns UTC: within those limits or where they were found. One
// that was made and set aside is none of them. The earliest comes first.
func (s *Store) PullsWithLimits(ctx context.Context, cell, from, to int64) (out []Pull, err error) {
	err = s.read(ctx, "store: read pulls with limits", func(tx *sql.Tx) error {
		return eachIn(ctx, tx, func(row scan) error {
			p, err := readPull(row)
			out = append(out, p.Pull)
			return err
		}, pullColumns+`INDEXED BY pulls_with_limits WHERE cell = ? AND found_start IS NOT NULL
			AND min(start_ns, found_start) < ? AND max(end_ns, found_end) >= ? ORDER BY start_ns`, cell, to, from)
	})
	return out, err
}

// PullsOn gives the pulls of a date (2006-01-02), the latest first: those of
// the test days that were held on it, and those without a test day that
// started on it in zone.
func (s *Store) PullsOn(ctx context.Context, date string, zone *time.Location) (out []Pull, err error) {
	midnight, err := time.ParseInLocation(time.DateOnly, date, zone)
	if err != nil {
		return nil, &Error{Path: s.dir, Reason: ErrInvalid, Hint: words.Say("store.date", date)}
	}
	days, err := dayShelf().list(ctx, s, "") // also those that were removed: their pulls keep the date
	if err != nil {
		return nil, err
	}
	filters := []PullFilter{{From: midnight.UnixNano(), To: midnight.AddDate(0, 0, 1).UnixNano()}}
	for _, d := range days {
		if d.Value.Date == date {
			filters = append(filters, PullFilter{Day: d.ID})
		}
	}
	for i, f := range filters {
		pulls, err := s.Pulls(ctx, f)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			pulls = slices.DeleteFunc(pulls, func(p Pull) bool { return p.Day != 0 })
		}
		out = append(out, pulls...)
	}
	slices.SortFunc(out, func(a, b Pull) int { return cmp.Or(cmp.Compare(b.Found.Start, a.Found.Start), cmp.Compare(b.ID, a.ID)) })
	return out, nil
}

// conditions collects the parts of a query.
type conditions struct {
	from      string
	start, id string // the columns of the index to go along
	parts     []string
	args      []any
}

func (c *conditions) add(part string, args ...any) {
	c.parts, c.args = append(c.parts, part), append(c.args, args...)
}

func (c *conditions) where() string {
	if len(c.parts) == 0 {
		return ""
	}
	return ` WHERE ` + strings.Join(c.parts, ` AND `)
}

// conditions chooses the index: that of the item, else that of the vehicle,
// which hold kind and ground as well, else one of pulls.
func (f PullFilter) conditions(ctx context.Context, tx *sql.Tx) (*conditions, error) {
	c := &conditions{start: "start_ns", id: "id"}
	kind, ground := "kind", "ground"
	switch {
	case f.Item != 0:
		kind, ground = c.along("pull_items", "item", f.Item)
	case f.Vehicle != 0:
		kind, ground = c.along("pull_vehicles", "vehicle", f.Vehicle)
	case f.Day != 0:
		kind, ground = "+kind", "+ground" // a day is few pulls; its index comes first
	}
	if f.Item != 0 && f.Vehicle != 0 {
		c.add(`EXISTS (SELECT 1 FROM pull_vehicles v WHERE v.pull = id AND v.vehicle = ?)`, f.Vehicle)
	}
	for _, w := range []struct {
		part string
		arg  any
		on   bool
	}{
		{c.start + " < ?", counts, f.Aside}, {c.start + " >= ?", cmp.Or(f.From, counts), !f.Aside}, {c.start + " < ?", f.To, f.To != 0 && !f.Aside}, {"cell = ?", f.Cell, f.Cell != 0},
		{"day = ?", f.Day, f.Day != 0}, {kind + " = ?", f.Kind, f.Kind != ""}, {ground + " = ?", f.Ground, f.Ground != ""},
	} {
		if w.on {
			c.add(w.part, w.arg)
		}
	}
	return c, f.behind(ctx, tx, c)
}

// along goes along the links of one document.
func (c *conditions) along(table, column string, id int64) (kind, ground string) {
	c.from, c.start, c.id = `JOIN `+table+` l ON l.pull = id`, "l.start_ns", "l.pull"
	c.add(`l.`+column+` = ?`, id)
	return "l.kind", "l.ground"
}

// behind leaves out what comes before a pull in the list, and that pull. The
// first condition alone bounds the index, the second tells pulls of one moment
// apart.
func (f PullFilter) behind(ctx context.Context, tx *sql.Tx, c *conditions) error {
	if f.Before == 0 {
		return nil
	}
	var start int64
	if err := tx.QueryRowContext(ctx, `SELECT start_ns FROM pulls WHERE id = ?`, f.Before).Scan(&start); err != nil {
		return err
	}
	c.add(c.start+` <= ?`, start)
	c.add(`(`+c.start+` < ? OR `+c.id+` < ?)`, start, f.Before)
	return nil
}
