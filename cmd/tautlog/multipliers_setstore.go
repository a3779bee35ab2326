package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// keepsSets says which store holds the sets of multipliers.
type keepsSets struct {
	dir  string
	json bool
}

// add defines the flags on a command.
func (k *keepsSets) add(c *cobra.Command) {
	c.Flags().StringVar(&k.dir, "data", "", "`directory` of the store")
	c.Flags().BoolVar(&k.json, "json", false, "print one JSON document")
}

// read opens the store for reading.
func (k *keepsSets) read(c *cobra.Command) (*store.Store, error) {
	if k.dir == "" {
		return nil, usagef("%s wants the store that keeps the sets: add --data DIR", c.CommandPath())
	}
	return store.OpenReader(k.dir)
}

// edit opens the store for a change; see openEditor.
func (k *keepsSets) edit(c *cobra.Command) (*store.Store, error) {
	if k.dir == "" {
		return nil, usagef("%s wants the store that keeps the sets: add --data DIR", c.CommandPath())
	}
	return openEditor(c, k.dir)
}

// find gives the set that is called NAME or NAME@VERSION; where there is none
// it says what there is.
func (k *keepsSets) find(ctx context.Context, db *store.Store, called string) (shock.Kept, error) {
	ref, err := parseSetRef(called)
	if err != nil {
		return shock.Kept{}, err
	}
	set, err := db.Set(ctx, ref.Name, ref.Version)
	if errors.Is(err, store.ErrNotFound) {
		return set, k.noSet(ctx, db, called)
	}
	return set, err
}

func (k *keepsSets) noSet(ctx context.Context, db *store.Store, called string) error {
	sets, err := db.Sets(ctx)
	if err != nil {
		return err
	}
	there := []string{shock.RuleOfThumb().Name}
	for _, s := range sets {
		there = append(there, fmt.Sprintf("%s@%d", s.Name, s.Version))
	}
	return fmt.Errorf("the store in %s has no set %s; it has %s", k.dir, called, strings.Join(there, ", "))
}

// parseSetRef reads NAME or NAME@VERSION; version 0 is the latest.
func parseSetRef(s string) (store.SetRef, error) {
	name, version, given := strings.Cut(s, "@")
	ref := store.SetRef{Name: strings.TrimSpace(name)}
	if given {
		n, err := strconv.Atoi(version)
		if err != nil || n < 1 {
			return ref, usagef("%q: a version is a number from 1, as in 'river bar@2'", s)
		}
		ref.Version = n
	}
	if ref.Name == "" {
		return ref, usagef("%q: a set is called NAME or NAME@VERSION", s)
	}
	return ref, nil
}

// setLine is a set in a list, as JSON.
type setLine struct {
	Name    string             `json:"name"`
	Version int                `json:"version"`
	Made    string             `json:"made"`
	Who     string             `json:"who"`
	Note    string             `json:"note"`
	Kind    string             `json:"kind"` // "fitted" or "assumed"
	Pulls   int                `json:"pulls"`
	Days    int                `json:"days"`
	LeftOut int                `json:"left_out"`
	Classes []shock.ClassName  `json:"classes"`
	Assumed []shock.Assumption `json:"assumed"`
	Planned bool               `json:"planned_with"`
}

// lineOf describes a set, and whether it is the chosen one.
func lineOf(k, chosen shock.Kept) setLine {
	l := setLine{
		Name: k.Name, Version: k.Version, Made: k.Made, Who: k.Who, Note: k.Note, Kind: "assumed",
		Classes: []shock.ClassName{}, Assumed: append([]shock.Assumption{}, k.Assumed...),
		Planned: k.Name == chosen.Name && k.Version == chosen.Version,
	}
	if k.Fit != nil {
		l.Kind, l.LeftOut = "fitted", len(k.Fit.LeftOut)
		l.Pulls, l.Days = k.Behind()
		for _, c := range k.Fit.Classes {
			l.Classes = append(l.Classes, c.ClassName)
		}
	}
	return l
}

// label is the name of the set for people.
func (l setLine) label() string { return shock.Kept{Name: l.Name, Version: l.Version}.Label() }

// called is how a command line names the set.
func (l setLine) called() string { return "'" + l.Name + "@" + strconv.Itoa(l.Version) + "'" }

// writeSet writes what is behind a set for a terminal.
func writeSet(out *lines, l setLine) {
	heading := l.label()
	if l.Planned {
		heading += ": planned with"
	}
	out.say(0, "%s", heading)
	if l.Made != "" {
		out.say(2, "made %s by %s", l.Made, l.Who)
	}
	if l.Kind == "fitted" {
		text := fmt.Sprintf("fitted from %s on %s", counted(l.Pulls, "pull"), counted(l.Days, "day"))
		if l.LeftOut > 0 {
			text += fmt.Sprintf("; %s left out", counted(l.LeftOut, "pull"))
		}
		out.say(2, "%s", text)
		for _, c := range l.Classes {
			out.say(4, "%s", className(c))
		}
	}
	for _, a := range l.Assumed {
		out.say(2, "assumed: %.3g for %s; %s", a.Multiplier, assumedFor(a.Class), a.Source)
	}
	if l.Note != "" {
		out.say(2, "%s", l.Note)
	}
}

// assumedFor names a class in which nothing stands for any.
func assumedFor(c shock.ClassName) string {
	var parts []string
	for _, p := range []string{string(c.Kind), c.Ground, c.Strap} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		return "every pull"
	}
	return "every pull that is " + strings.Join(parts, ", ")
}
