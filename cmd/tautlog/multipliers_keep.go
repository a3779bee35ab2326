package main

import (
	"bufio"
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// multiplierKeep is what was asked of "tautlog multipliers keep".
type multiplierKeep struct {
	source pullsSource
	note   string
	json   bool
}

// newMultipliersKeep fits multipliers and keeps them.
func newMultipliersKeep() *cobra.Command {
	m := &multiplierKeep{}
	c := &cobra.Command{
		Use:   "keep NAME --data DIR [PULLS.csv | --cell NAME --from TIME --to TIME --day DAY] [--note TEXT]",
		Short: "Fit multipliers and keep them under a name, as a new version",
		Long: `Fits multipliers as "multipliers fit" does, from the log of the store or from a
table, and keeps them in the store: with a name, the next version of it, and the
pulls behind them. A kept version never changes. It is planned with only once
it is chosen: multipliers use.

` + fromLog + "\n\n" + pullsTable,
		Example: "  tautlog multipliers keep 'river bar 2026' --data ~/tautlog --from 2026-01-01",
		Args:    m.check,
		RunE:    m.run,
	}
	m.source.add(c)
	c.Flags().StringVar(&m.note, "note", "", "`text` to keep with the set")
	c.Flags().BoolVar(&m.json, "json", false, "print one JSON document")
	return c
}

// check wants a name, and a store; the pulls are its own or those of a table.
func (m *multiplierKeep) check(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0 || len(args) > 2:
		return usagef("%s wants a name for the set, and no more than one table of pulls; see: %s --help", c.CommandPath(), c.CommandPath())
	case m.source.stored.dir == "":
		return usagef("%s wants the store that keeps the sets: add --data DIR", c.CommandPath())
	case len(args) == 2 && m.source.chooses():
		return usagef("--cell, --from, --to, --day and --by-item choose from the log of the store, not from a table: leave out one of both")
	}
	return nil
}

func (m *multiplierKeep) run(c *cobra.Command, args []string) error {
	pulls, _, err := m.source.read(c, args[1:])
	if err != nil {
		return err
	}
	set := shock.Keep(args[0], pulls)
	set.Note = m.note
	kept, err := saveSet(c, &keepsSets{dir: m.source.stored.dir}, set)
	if err != nil {
		return err
	}
	if m.json {
		return writeJSON(c.OutOrStdout(), keptRecord{kept, set.Fit})
	}
	return writeKept(c.OutOrStdout(), kept, set.Fit)
}

// keptRecord is a set that was just kept, as JSON.
type keptRecord struct {
	Set savedSet         `json:"set"`
	Fit *shock.SetRecord `json:"fit,omitempty"`
}

// savedSet is a set that was to be kept.
type savedSet struct {
	setLine
	New bool `json:"new"` // false: the latest version says the same
}

// saveSet keeps a set.
func saveSet(c *cobra.Command, k *keepsSets, set shock.Kept) (saved savedSet, err error) {
	if err := set.Check(); err != nil { // before a store is made for it
		return saved, err
	}
	db, err := k.edit(c)
	if err != nil {
		return saved, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	before, err := latestVersion(c.Context(), db, set.Name)
	if err != nil {
		return saved, err
	}
	kept, err := db.SaveSet(c.Context(), set)
	if err != nil {
		return saved, err
	}
	chosen, err := db.PlanningWith(c.Context())
	return savedSet{lineOf(kept, chosen), kept.Version > before}, err
}

// latestVersion is that of the sets of a name; 0 where there is none.
func latestVersion(ctx context.Context, db *store.Store, name string) (int, error) {
	set, err := db.Set(ctx, name, 0)
	if errors.Is(err, store.ErrNotFound) {
		return 0, nil
	}
	return set.Version, err
}

// writeKept writes for a terminal what was kept.
func writeKept(w io.Writer, s savedSet, fit *shock.SetRecord) error {
	out := &lines{w: bufio.NewWriter(w)}
	if s.New {
		out.say(0, "Kept:")
	} else {
		out.say(0, "Nothing new: this is what the latest version says already.")
	}
	writeSet(out, s.setLine)
	if !s.Planned {
		out.gap()
		out.say(0, "It is not planned with yet. To do so: tautlog multipliers use %s", s.called())
	}
	out.gap()
	if fit == nil {
		return out.end()
	}
	if err := out.w.Flush(); err != nil {
		return err
	}
	return writeMultipliers(w, *fit)
}
