package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/logfile"
	"tautlog/ingest/store"
)

// limitsCommand is what was asked of "tautlog pulls limits".
type limitsCommand struct {
	data       string
	start, end string
	found, try bool
	show       unit.ForceUnit
	json       bool
}

// newPullsLimits is the command that sets where a logged pull starts and ends.
func newPullsLimits() *cobra.Command {
	l := limitsCommand{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "limits NUMBER --data DIR [--start MOMENT] [--end MOMENT] [--found] [--try]",
		Short: "Set where a logged pull starts and ends",
		Long: `Sets the start and the end of a pull of the log, which is then measured again from
its readings between them. What was found stays on record, and --found goes back
to it. With --try nothing is kept. Without any of these it tells how the limits
are.

A MOMENT is a local time of the day of the pull, seconds from its start as it
stands, or a whole time stamp.`,
		Example: "  tautlog pulls limits 12 --data ~/tautlog --start 10:00:04.250 --end=3.5s --try\n  tautlog pulls limits 12 --data ~/tautlog --found",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("%s wants the number of one pull; see: %s --help", c.CommandPath(), c.CommandPath())
			}
			return nil
		},
		RunE: l.run,
	}
	f := c.Flags()
	f.StringVar(&l.data, "data", defaultData(), "`directory` of the store")
	f.StringVar(&l.start, "start", "", "`moment` at which it starts, such as 10:00:04.250 or -0.3s; otherwise as it is")
	f.StringVar(&l.end, "end", "", "`moment` at which it ends; otherwise as it is")
	f.BoolVar(&l.found, "found", false, "go back to the limits that were found")
	f.BoolVar(&l.try, "try", false, "tell what that gives, and keep nothing")
	f.Var(unitFlag{&l.show}, "show", "`unit` of the forces that are printed for people: N, kN, kgf, lbf or t")
	f.BoolVar(&l.json, "json", false, "print one JSON document")
	return c
}

// limitsRecord is the JSON document of the command.
type limitsRecord struct {
	Pull     int64            `json:"pull"`
	Kept     bool             `json:"kept"` // false: only tried, or only told
	Start    time.Time        `json:"start"`
	End      time.Time        `json:"end"`
	Kind     pull.Kind        `json:"kind"`
	Measured pull.Record      `json:"measured"` // between start and end, times in seconds from start
	Was      pull.Record      `json:"was"`      // before, times in seconds from its start
	Limits   *logfile.Limits  `json:"limits"`   // null: it starts and ends as found
	Cautions []rating.Caution `json:"cautions"`
}

func (l *limitsCommand) run(c *cobra.Command, args []string) (err error) {
	id, err := strconv.ParseInt(args[0], 10, 64)
	switch {
	case err != nil || id < 1:
		return usagef("%q is not the number of a pull", args[0])
	case l.found && (l.start != "" || l.end != ""):
		return usagef("--found goes back to what was found: leave out --start and --end")
	}
	changes := l.found || l.start != "" || l.end != ""
	db, err := l.open(changes && !l.try)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	was, err := db.Pull(c.Context(), id)
	if err != nil {
		return err
	}
	is, kept := was, false
	if changes {
		if is, err = l.limited(c.Context(), db, was); err != nil {
			return err
		}
		if !l.try {
			if is, err = db.SavePull(c.Context(), is); err != nil {
				return err
			}
			kept = true
		}
	}
	if l.json {
		return writeJSON(c.OutOrStdout(), limitsRecord{
			is.ID, kept, time.Unix(0, is.Found.Start).UTC(), time.Unix(0, is.Found.End).UTC(), is.Kind,
			is.Found.Record(is.Found.Start), was.Found.Record(was.Found.Start), logfile.LimitsOf(is), rating.Cautions(),
		})
	}
	return l.tell(c.OutOrStdout(), was, is, changes, kept)
}

func (l *limitsCommand) open(toWrite bool) (*store.Store, error) {
	if toWrite {
		return store.OpenEditor(l.data, store.Options{Who: userHere()})
	}
	return store.OpenReader(l.data)
}

// limited gives a pull as it would be.
func (l *limitsCommand) limited(ctx context.Context, db *store.Store, p store.Pull) (store.Pull, error) {
	if l.found {
		return derive.AsFound(ctx, db, p)
	}
	from, to := p.Found.Start, p.Found.End
	if p.Limits != nil {
		from, to = p.Limits.From, p.Limits.To
	}
	near := time.Unix(0, from).In(time.Local)
	for _, m := range []struct {
		text string
		at   *int64
	}{{l.start, &from}, {l.end, &to}} {
		if m.text == "" {
			continue
		}
		t, err := derive.Moment(m.text, near)
		if err != nil {
			return p, err
		}
		*m.at = t.UnixNano()
	}
	cell, err := cellOf(ctx, db, p.Cell)
	if err != nil {
		return p, err
	}
	return cell.WithLimits(ctx, db, p, from, to)
}

// cellOf is the cell that read a pull, with how its readings become force.
func cellOf(ctx context.Context, db *store.Store, id int64) (derive.Cell, error) {
	cells, err := db.Cells(ctx)
	if err != nil {
		return derive.Cell{}, err
	}
	for _, c := range cells {
		if c.ID == id {
			return derive.Of(ctx, db, c)
		}
	}
	return derive.Cell{}, store.ErrNotFound
}

// tell tells people where a pull starts and ends, and what is measured there.
func (l *limitsCommand) tell(w io.Writer, was, is store.Pull, changes, kept bool) error {
	at := func(ns int64) string {
		return time.Unix(0, ns).In(time.Local).Format("2006-01-02 " + derive.MomentShown)
	}
	peak := func(p pull.Pull) string {
		return unit.ShowInterval("true peak", p.Peak, p.PeakLow, p.PeakHigh, l.show)
	}
	out := &lines{w: bufio.NewWriter(w)}
	switch {
	case kept:
		out.say(0, "Pull %d is kept with these limits.", is.ID)
	case changes:
		out.say(0, "Pull %d would be this; nothing was kept.", is.ID)
	}
	out.say(0, "Pull %d: from %s to %s, %s.", is.ID, at(is.Found.Start), at(is.Found.End), is.Kind)
	out.say(3, "peak %s", peak(is.Found))
	out.say(3, "impulse %s·s", unit.ShowHalf(unit.Force(is.Found.Impulse), unit.Force(is.Found.Impulse95), l.show))
	if is.Found.RiseTime > 0 {
		out.say(3, "rise from 10 to 90 %% in %s", showSeconds(is.Found.RiseTime))
	} else {
		out.say(3, "the rise was not seen")
	}
	if changes {
		out.say(0, "It was from %s to %s, with a peak of %s.", at(was.Found.Start), at(was.Found.End), peak(was.Found))
	}
	if s := is.Limits; s != nil && s.Made {
		out.say(0, "Set by hand by %s, %s: nothing was found there.", s.Who, at(s.At))
	} else if s != nil {
		out.say(0, "Set by hand by %s, %s. Found from %s to %s, with a peak of %s.", s.Who, at(s.At), at(s.Found.Start), at(s.Found.End), peak(s.Found))
	} else {
		out.say(0, "It starts and ends as it was found.")
	}
	for _, remark := range is.Found.Remarks {
		out.say(0, "Take care: %s", remark)
	}
	return out.end()
}
