package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// multiplierKeep is what was asked of "tautlog multipliers keep".
type multiplierKeep struct {
	source pullsSource
	file   string
	note   string
	json   bool
}

// newMultipliersKeep fits multipliers and keeps them.
func newMultipliersKeep() *cobra.Command {
	m := &multiplierKeep{}
	c := &cobra.Command{
		Use:   "keep NAME --data DIR [PULLS.csv | --set SET.json | --cell NAME --from TIME --to TIME --day DAY] [--note TEXT]",
		Short: "Fit multipliers and keep them under a name, as a new version",
		Long: `Fits multipliers as "multipliers fit" does, from the log of the store or from a
table, and keeps them in the store: with a name, the next version of it, and the
pulls behind them. A kept version never changes. It is planned with only once
it is chosen: multipliers use. With --set nothing is fitted: a set that
"multipliers export --json" wrote, here or elsewhere, is kept as it is.

` + fromLog + "\n\n" + pullsTable,
		Example: "  tautlog multipliers keep 'river bar 2026' --data ~/tautlog --from 2026-01-01",
		Args:    m.check,
		RunE:    m.run,
	}
	m.source.add(c)
	c.Flags().StringVar(&m.file, "set", "", "`file` with a set as multipliers export --json writes it")
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
	case (len(args) == 2 || m.file != "") && m.source.chooses():
		return usagef("--cell, --from, --to, --day and --by-item choose from the log of the store, not from a file: leave out one of both")
	case len(args) == 2 && m.file != "":
		return usagef("%s keeps a set from a file or fits a table, not both", c.CommandPath())
	}
	return nil
}

func (m *multiplierKeep) run(c *cobra.Command, args []string) error {
	set, err := m.set(c, args)
	if err != nil {
		return err
	}
	kept, err := saveSet(c, &keepsSets{dir: m.source.stored.dir}, set)
	if err != nil {
		return err
	}
	if m.json {
		return writeJSON(c.OutOrStdout(), keptRecord{kept, set.Fit})
	}
	return writeKept(c.OutOrStdout(), kept, set.Fit)
}

// set is what to keep.
func (m *multiplierKeep) set(c *cobra.Command, args []string) (set shock.Kept, err error) {
	if m.file != "" {
		set, err = readSet(m.file)
		set.Name, set.Version = args[0], 0
	} else {
		var pulls []shock.Pull
		pulls, _, err = m.source.read(c, args[1:])
		set = shock.Keep(args[0], pulls)
	}
	if c.Flags().Changed("note") {
		set.Note = m.note
	}
	return set, err
}

// readSet reads a set that was exported.
func readSet(path string) (shock.Kept, error) {
	file, err := os.Open(path)
	if err != nil {
		return shock.Kept{}, fmt.Errorf("the set cannot be opened: %w", err)
	}
	defer file.Close()
	set, err := shock.DecodeKept(file)
	if err != nil {
		return set, fmt.Errorf("%s: %w; give what multipliers export --json has written", path, err)
	}
	return set, nil
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
