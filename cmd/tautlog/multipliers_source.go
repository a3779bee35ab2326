package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/dashboards/logbook"
	"tautlog/ingest/store"
)

// pullsSource says where logged pulls are read from: a table, or the log of a
// store.
type pullsSource struct {
	table  tableFlags
	stored storedFlags
	day    string
	byItem bool
}

// add defines the flags on a command.
func (s *pullsSource) add(c *cobra.Command) {
	s.table.add(c)
	f := c.Flags()
	f.StringVar(&s.stored.dir, "data", "", "`directory` of the store")
	f.StringVar(&s.stored.cell, "cell", "", "only pulls of the cell of this `name`")
	f.Var(&s.stored.from, "from", "only pulls from this `time` on: RFC 3339, or a local 2026-05-17 or 2026-05-17T09:30")
	f.Var(&s.stored.to, "to", "only pulls before this `time`")
	f.StringVar(&s.day, "day", "", "only pulls of this test `day`: its date, its name, or both")
	f.BoolVar(&s.byItem, "by-item", false, "make classes by the name of the strap in place of its kind")
}

// fromLog is the part of the help that tells how the log is read.
const fromLog = `With --data the pulls are those of the log. Kind, ground, masses and speed are
as people said at the pull; the reference mass is otherwise that of the stuck
vehicle as weighed, else its GVM, and the strap the one in the rig. The peak is
what the cell read. What that means for each pull goes to standard error.`

// chooses tells whether a flag chooses among the pulls of a store.
func (s *pullsSource) chooses() bool { return s.stored.used() || s.day != "" || s.byItem }

// check wants exactly one of a table and a store.
func (s *pullsSource) check(c *cobra.Command, args []string) error {
	switch {
	case s.stored.dir != "" && len(args) > 0:
		return usagef("%s reads a table or, with --data, the log of a store, not both", c.CommandPath())
	case s.stored.dir != "":
		return nil
	}
	return s.checkTable(c, args)
}

func (s *pullsSource) checkTable(c *cobra.Command, args []string) error {
	if s.chooses() {
		return usagef("--cell, --from, --to, --day and --by-item choose from the log of a store: leave out the table and give --data DIR")
	}
	return oneTable(c, args)
}

// read gives the pulls, and what to call them as a whole. What is to be known
// of pulls in the log goes to remarks.
func (s *pullsSource) read(c *cobra.Command, tables []string) (pulls []shock.Pull, name string, err error) {
	if len(tables) > 0 {
		pulls, err = s.table.read(tables[0], c.InOrStdin())
		return pulls, tables[0], err
	}
	db, err := store.OpenReader(s.stored.dir)
	if err != nil {
		return nil, "", err
	}
	defer db.Close()
	logged, err := s.logged(c.Context(), db)
	if err != nil {
		return nil, "", err
	}
	for _, l := range logged {
		pulls = append(pulls, shock.FromLog(l))
	}
	remarkOnLog(c.ErrOrStderr(), logged, pulls)
	return pulls, "the log in " + s.stored.dir, nil
}

// logged gives the pulls that the flags choose.
func (s *pullsSource) logged(ctx context.Context, db *store.Store) ([]shock.Logged, error) {
	choice := logbook.Choice{Day: s.day, ByItem: s.byItem}
	if s.stored.from.set {
		choice.From = s.stored.from.at.UnixNano()
	}
	if s.stored.to.set {
		choice.To = s.stored.to.at.UnixNano()
	}
	if s.stored.cell != "" {
		cell, err := s.stored.chosen(ctx, db)
		if err != nil {
			return nil, err
		}
		choice.Cell = cell.ID
	}
	all, err := choice.Logged(ctx, db, time.Local)
	if err == nil && len(all) == 0 {
		err = s.noPulls(ctx, db)
	}
	return all, err
}

// noPulls says that nothing was chosen, and what there is.
func (s *pullsSource) noPulls(ctx context.Context, db *store.Store) error {
	all, err := db.Pulls(ctx, store.PullFilter{})
	switch {
	case err != nil:
		return err
	case len(all) == 0:
		return fmt.Errorf("the store in %s has no pulls in its log; record some with: tautlog serve, or bring in a trace with: tautlog import", s.stored.dir)
	}
	return fmt.Errorf("the store in %s has no such pulls; it has %s from %s to %s: change --cell, --from, --to and --day",
		s.stored.dir, counted(len(all), "pull"), clock(all[len(all)-1].Found.Start), clock(all[0].Found.Start))
}

// remarkOnLog says what to know of pulls that were read from a log: the same
// of several in one line.
func remarkOnLog(w io.Writer, logged []shock.Logged, pulls []shock.Pull) {
	var order []string
	of := map[string][]string{}
	for _, p := range pulls {
		if p.Problem() != "" || p.Remark == "" {
			continue
		}
		for why := range strings.SplitSeq(p.Remark, "; ") {
			if of[why] == nil {
				order = append(order, why)
			}
			of[why] = append(of[why], p.Name())
		}
	}
	for _, why := range order {
		fmt.Fprintf(w, "%s: %s\n", someOf(of[why]), why)
	}
	var pairs []string
	for i, l := range logged {
		for _, before := range logged[max(0, i-3):i] {
			if l.Found.Start < before.Found.End && before.Found.Start < l.Found.End {
				pairs = append(pairs, before.ID+" and "+l.ID)
			}
		}
	}
	if len(pairs) > 0 {
		fmt.Fprintf(w, "%s overlap in time: if two cells measured one pull, choose one with --cell, or it counts twice\n", someOf(pairs))
	}
}

// someOf lists names, not more than a handful.
func someOf(names []string) string {
	const most = 8
	if len(names) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
	}
	return strings.Join(names, ", ")
}
