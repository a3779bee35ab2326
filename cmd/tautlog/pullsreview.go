package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// reviewCommand is what was asked of the commands that put right what was
// found: "tautlog pulls part", "join", "add", "aside" and "undo".
type reviewCommand struct {
	data      string
	at        string
	cell      string
	start     timeFlag
	end       string
	back, try bool
	show      unit.ForceUnit
	json      bool
}

// reviewedRecord is the JSON document of these commands.
type reviewedRecord struct {
	Kept     bool             `json:"kept"` // false: only tried, or only told
	Pulls    []reviewedPull   `json:"pulls"`
	Cautions []rating.Caution `json:"cautions"`
}

// reviewedPull is a pull as it is then, or would be.
type reviewedPull struct {
	Pull     int64       `json:"pull"` // its number; 0: it has none yet
	Start    time.Time   `json:"start"`
	End      time.Time   `json:"end"`
	Kind     pull.Kind   `json:"kind"`
	Measured pull.Record `json:"measured"` // times in seconds from start
	Aside    *setAside   `json:"aside"`    // null: it counts
}

type setAside struct {
	By string    `json:"by"`
	At time.Time `json:"at"`
	Of int64     `json:"part_of"` // the pull that it is part of; 0: it was no pull
}

// newPullsReview are the commands that part, join, add and set aside pulls of the
// log, and take that back.
func newPullsReview() []*cobra.Command {
	return []*cobra.Command{newPullsPart(), newPullsJoin(), newPullsAdd(), newPullsAside(), newPullsUndo()}
}

func (v *reviewCommand) command(c *cobra.Command, numbers int, run func(ctx context.Context, w io.Writer, numbers []int64) error) *cobra.Command {
	v.show = unit.DefaultShown
	c.Args = func(c *cobra.Command, args []string) error {
		if len(args) != numbers {
			return usagef("%s wants %d numbers of pulls, not %d; see: %s --help", c.CommandPath(), numbers, len(args), c.CommandPath())
		}
		return nil
	}
	c.RunE = func(c *cobra.Command, args []string) error {
		ids, err := pullNumbers(args)
		if err != nil {
			return err
		}
		return run(c.Context(), c.OutOrStdout(), ids)
	}
	f := c.Flags()
	f.StringVar(&v.data, "data", defaultData(), "`directory` of the store")
	f.Var(unitFlag{&v.show}, "show", "`unit` of the forces that are printed for people: N, kN, kgf, lbf or t")
	f.BoolVar(&v.json, "json", false, "print one JSON document")
	return c
}

func (v *reviewCommand) mayTry(c *cobra.Command) *cobra.Command {
	c.Flags().BoolVar(&v.try, "try", false, "tell what that gives, and keep nothing")
	return c
}

func pullNumbers(args []string) (ids []int64, err error) {
	for _, a := range args {
		id, err := strconv.ParseInt(a, 10, 64)
		if err != nil || id < 1 {
			return nil, usagef("%q is not the number of a pull", a)
		}
		ids = append(ids, id)
	}
	return ids, nil
}

// with opens the store for what is to be done with it.
func (v *reviewCommand) with(write bool, do func(*store.Store) error) (err error) {
	l := limitsCommand{data: v.data}
	db, err := l.open(write)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return do(db)
}

func newPullsPart() *cobra.Command {
	v := &reviewCommand{}
	c := v.mayTry(v.command(&cobra.Command{
		Use:   "part NUMBER --at MOMENT --data DIR [--try]",
		Short: "Make two pulls of a logged one",
		Long: `Parts a pull of the log at a moment, which begins the second: each is then
measured from its own readings. The second gets the rig, the vehicles, the day and
the ground of the first; speed, slack, notes and pictures stay with the first.
"tautlog pulls undo" with the number of either takes it back.

A MOMENT is a local time of the day of the pull, seconds from its start as it
stands, or a whole time stamp.`,
		Example: "  tautlog pulls part 12 --at 10:00:05.5 --data ~/tautlog --try",
	}, 1, v.part))
	c.Flags().StringVar(&v.at, "at", "", "`moment` at which the second begins, such as 10:00:05.5 or 2.5s")
	return c
}

func (v *reviewCommand) part(ctx context.Context, w io.Writer, ids []int64) error {
	if v.at == "" {
		return usagef("say with --at where to part it, such as --at 10:00:05.5")
	}
	return v.with(!v.try, func(db *store.Store) error {
		p, err := db.Pull(ctx, ids[0])
		if err != nil {
			return err
		}
		at, err := derive.Moment(v.at, time.Unix(0, p.Found.Start).In(time.Local))
		if err != nil {
			return err
		}
		cell, err := cellOf(ctx, db, p.Cell)
		if err != nil {
			return err
		}
		first, second, err := cell.Parted(ctx, db, p, at.UnixNano())
		if err == nil && !v.try {
			first, second, err = db.PartPull(ctx, first, second)
		}
		if err != nil {
			return err
		}
		return v.tell(w, !v.try, first, second)
	})
}

func newPullsJoin() *cobra.Command {
	v := &reviewCommand{}
	return v.mayTry(v.command(&cobra.Command{
		Use:   "join NUMBER NUMBER --data DIR [--try]",
		Short: "Make one pull of two logged ones",
		Long: `Joins two pulls of one cell: the earlier then reaches from the start of the one
to the end of the other and is measured again, and the later is set aside as a part
of it. What was said of the later alone is taken over, with its notes and pictures.
"tautlog pulls undo" with the number of either takes it back.`,
		Example: "  tautlog pulls join 12 13 --data ~/tautlog --try",
	}, 2, v.join))
}

func (v *reviewCommand) join(ctx context.Context, w io.Writer, ids []int64) error {
	return v.with(!v.try, func(db *store.Store) error {
		var both [2]store.Pull
		for i, id := range ids {
			var err error
			if both[i], err = db.Pull(ctx, id); err != nil {
				return err
			}
		}
		cell, err := cellOf(ctx, db, both[0].Cell)
		if err != nil {
			return err
		}
		into, other, err := cell.Joined(ctx, db, both[0], both[1])
		if err == nil && !v.try {
			into, other, err = db.JoinPulls(ctx, into, other)
		}
		if err != nil {
			return err
		}
		if v.try {
			other.Aside = &store.Aside{Who: userHere(), At: time.Now().UnixNano(), Of: into.ID}
		}
		return v.tell(w, !v.try, into, other)
	})
}

func newPullsAdd() *cobra.Command {
	v := &reviewCommand{}
	c := v.mayTry(v.command(&cobra.Command{
		Use:   "add --cell NAME --start TIME --end TIME --data DIR [--try]",
		Short: "Log a pull that was not found",
		Long: `Logs a pull between two moments of a cell, measured from its readings, with the rig,
the day and the ground that were set for the cell then.

A TIME is a whole time stamp, such as 2026-05-17T10:31:20.5 (local time) or with
a zone; --end may be seconds from the start, such as 3.5s.`,
		Example: "  tautlog pulls add --cell River-1 --start 2026-05-17T10:31:20.5 --end 3.5s --data ~/tautlog",
	}, 0, v.add))
	f := c.Flags()
	f.StringVar(&v.cell, "cell", "", "`name` of the cell")
	f.Var(&v.start, "start", "`time` at which it starts")
	f.StringVar(&v.end, "end", "", "`time` at which it ends, or seconds from its start")
	return c
}

func (v *reviewCommand) add(ctx context.Context, w io.Writer, _ []int64) error {
	if v.cell == "" || !v.start.set || v.end == "" {
		return usagef("say which cell read it and from when to when: --cell, --start and --end")
	}
	return v.with(!v.try, func(db *store.Store) error {
		c, err := db.CellByName(ctx, v.cell)
		if err != nil {
			return err
		}
		end, err := v.until()
		if err != nil {
			return err
		}
		cell, err := derive.Of(ctx, db, c)
		if err != nil {
			return err
		}
		p, err := cell.Made(ctx, db, v.start.at.UnixNano(), end.UnixNano())
		if err == nil && !v.try {
			p, err = db.MakePull(ctx, p)
		}
		if err != nil {
			return err
		}
		return v.tell(w, !v.try, p)
	})
}

// until is when a pull that is added ends.
func (v *reviewCommand) until() (time.Time, error) {
	var end timeFlag
	if end.Set(v.end) == nil {
		return end.at, nil
	}
	return derive.Moment(v.end, v.start.at.In(time.Local))
}

func newPullsAside() *cobra.Command {
	v := &reviewCommand{}
	c := v.command(&cobra.Command{
		Use:   "aside [NUMBER] --data DIR [--back]",
		Short: "Set a logged pull aside that was none",
		Long: `Sets a pull of the log aside: it was none, somebody leaned on the cell, say. It stays
on record with all that was said of it, and counts nowhere: in no day and no report,
for no item of gear and in no multiplier. With --back it counts again. Without a
number it lists what is set aside.`,
		Example: "  tautlog pulls aside 12 --data ~/tautlog\n  tautlog pulls aside 12 --data ~/tautlog --back",
	}, 1, v.aside)
	c.Args = func(c *cobra.Command, args []string) error {
		if len(args) > 1 {
			return usagef("%s wants the number of one pull, or none; see: %s --help", c.CommandPath(), c.CommandPath())
		}
		return nil
	}
	c.Flags().BoolVar(&v.back, "back", false, "count it again")
	return c
}

func (v *reviewCommand) aside(ctx context.Context, w io.Writer, ids []int64) error {
	if len(ids) == 0 && v.back {
		return usagef("say by its number which pull is to count again")
	}
	return v.with(len(ids) > 0, func(db *store.Store) error {
		if len(ids) == 0 {
			all, err := db.Pulls(ctx, store.PullFilter{Aside: true})
			if err != nil {
				return err
			}
			slices.Reverse(all)
			return v.tell(w, false, all...)
		}
		p, err := db.Pull(ctx, ids[0])
		if err != nil {
			return err
		}
		if p.Aside = nil; !v.back {
			p.Aside = &store.Aside{}
		}
		if p, err = db.SavePull(ctx, p); err != nil {
			return err
		}
		return v.tell(w, true, p)
	})
}

func newPullsUndo() *cobra.Command {
	v := &reviewCommand{}
	return v.command(&cobra.Command{
		Use:   "undo NUMBER --data DIR",
		Short: "Take back the last change that somebody made of a logged pull",
		Long: `Takes back the last change that a person made of a pull of the log, as a change of its
own: limits, what was said of it, that it was parted, joined, added or set aside. What
was done to several pulls at once is taken back of all of them. What was measured
again since stays.`,
		Example: "  tautlog pulls undo 12 --data ~/tautlog",
	}, 1, v.undo)
}

func (v *reviewCommand) undo(ctx context.Context, w io.Writer, ids []int64) error {
	return v.with(true, func(db *store.Store) error {
		if _, err := db.Pull(ctx, ids[0]); err != nil {
			return err
		}
		undone, err := db.UndoOfPull(ctx, ids[0])
		if err != nil {
			return err
		}
		var all []store.Pull
		for _, id := range undone {
			p, err := db.Pull(ctx, id)
			if err != nil {
				return err
			}
			all = append(all, p)
		}
		return v.tell(w, true, all...)
	})
}

// tell tells how pulls are, or would be.
func (v *reviewCommand) tell(w io.Writer, kept bool, pulls ...store.Pull) error {
	if v.json {
		doc := reviewedRecord{Kept: kept, Pulls: []reviewedPull{}, Cautions: rating.Cautions()}
		for _, p := range pulls {
			r := reviewedPull{p.ID, time.Unix(0, p.Found.Start).UTC(), time.Unix(0, p.Found.End).UTC(), p.Kind, p.Found.Record(p.Found.Start), nil}
			if a := p.Aside; a != nil {
				r.Aside = &setAside{a.Who, time.Unix(0, a.At).UTC(), a.Of}
			}
			doc.Pulls = append(doc.Pulls, r)
		}
		return writeJSON(w, doc)
	}
	out := &lines{w: bufio.NewWriter(w)}
	switch {
	case v.try:
		out.say(0, "It would be this; nothing was kept.")
	case kept:
		out.say(0, "This is kept.")
	case len(pulls) == 0:
		out.say(0, "No pull is set aside.")
	}
	for _, p := range pulls {
		v.tellOne(out, p)
	}
	return out.end()
}

func (v *reviewCommand) tellOne(out *lines, p store.Pull) {
	at := func(ns int64) string {
		return time.Unix(0, ns).In(time.Local).Format("2006-01-02 " + derive.MomentShown)
	}
	name := "A new pull"
	if p.ID != 0 {
		name = fmt.Sprintf("Pull %d", p.ID)
	}
	out.say(0, "%s: from %s to %s, %s.", name, at(p.Found.Start), at(p.Found.End), p.Kind)
	out.say(3, "peak %s", unit.ShowInterval("true peak", p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh, v.show))
	switch a := p.Aside; {
	case a != nil && a.Of != 0:
		out.say(3, "set aside as a part of pull %d by %s, %s: it counts nowhere", a.Of, a.Who, at(a.At))
	case a != nil:
		out.say(3, "set aside by %s, %s: it was no pull and counts nowhere", a.Who, at(a.At))
	case p.Limits != nil && p.Limits.Of != 0:
		out.say(3, "parted from pull %d", p.Limits.Of)
	case p.Limits != nil && p.Limits.Made:
		out.say(3, "added by hand: nothing was found there")
	}
	if p.Aside == nil {
		for _, remark := range p.Found.Remarks {
			out.say(3, "Take care: %s", remark)
		}
	}
}
