package main

import (
	"errors"
	"slices"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// multiplierAssume is what was asked of "tautlog multipliers assume".
type multiplierAssume struct {
	keepsSets
	multiplier          multiplierFlag
	kind, ground, strap string
	source, note        string
	add                 bool
}

// newMultipliersAssume keeps a multiplier that was not measured.
func newMultipliersAssume() *cobra.Command {
	m := &multiplierAssume{}
	c := &cobra.Command{
		Use:   "assume NAME --data DIR --multiplier M --source TEXT [--kind KIND] [--ground GROUND] [--strap STRAP] [--add]",
		Short: "Keep an assumed multiplier under a name, with who says so",
		Long: `Keeps a multiplier that was not measured, with its source, as a new version of a
set. It holds for the kind, ground and strap that are named, and for any where
they are not. With --add it comes beside those of the latest version, in place
of one for the same pulls; otherwise it is all that the new version says.`,
		Example: "  tautlog multipliers assume handbook --data ~/tautlog --multiplier 3 --kind kinetic --source 'club rule of 2024'",
		Args:    oneSet,
		RunE:    m.run,
	}
	m.keepsSets.add(c)
	f := c.Flags()
	f.Var(&m.multiplier, "multiplier", "`multiplier` of the weight of the stuck vehicle, such as 3")
	f.StringVar(&m.kind, "kind", "", "for pulls of this `kind`: kinetic, steady, proof")
	f.StringVar(&m.ground, "ground", "", "for pulls on this `ground`")
	f.StringVar(&m.strap, "strap", "", "for pulls with this `strap`, such as 'kinetic rope'")
	f.StringVar(&m.source, "source", "", "`text`: who says so, or where it is printed")
	f.StringVar(&m.note, "note", "", "`text` to keep with the set")
	f.BoolVar(&m.add, "add", false, "keep what else the latest version assumes")
	return c
}

// oneSet wants exactly one name of a set.
func oneSet(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants the name of one set, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	}
	return nil
}

func (m *multiplierAssume) run(c *cobra.Command, args []string) error {
	kind := pull.Kind(m.kind)
	switch {
	case m.multiplier == 0:
		return usagef("%s wants a multiplier: add --multiplier 3", c.CommandPath())
	case m.source == "":
		return usagef("%s wants to know who says so: add --source TEXT", c.CommandPath())
	case !slices.Contains([]pull.Kind{"", pull.Kinetic, pull.Steady, pull.Proof}, kind):
		return usagef("--kind %q: a pull is kinetic, steady or proof", m.kind)
	}
	set := shock.Kept{Name: args[0], Note: m.note, Assumed: []shock.Assumption{{
		Class: shock.ClassName{Kind: kind, Ground: m.ground, Strap: m.strap}, Multiplier: float64(m.multiplier), Source: m.source,
	}}}
	if m.add {
		if err := m.beside(c, &set); err != nil {
			return err
		}
	}
	saved, err := saveSet(c, &m.keepsSets, set)
	if err != nil {
		return err
	}
	if m.json {
		return writeJSON(c.OutOrStdout(), keptRecord{Set: saved})
	}
	return writeKept(c.OutOrStdout(), saved, nil)
}

// beside takes over what the latest version assumes for other classes.
func (m *multiplierAssume) beside(c *cobra.Command, set *shock.Kept) (err error) {
	db, err := m.read(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	latest, err := db.Set(c.Context(), set.Name, 0)
	if errors.Is(err, store.ErrNotFound) {
		return m.noSet(c.Context(), db, set.Name)
	}
	if err != nil {
		return err
	}
	if latest.Fit != nil {
		return usagef("--add: %s is fitted, not assumed: use another name", latest.Label())
	}
	set.Version = latest.Version
	for _, a := range latest.Assumed {
		if a.Class != set.Assumed[0].Class {
			set.Assumed = append(set.Assumed, a)
		}
	}
	return nil
}
