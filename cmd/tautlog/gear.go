package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// newGear groups the commands that tell of the register of gear.
func newGear() *cobra.Command {
	c := &cobra.Command{
		Use:   "gear",
		Short: "Tell what each item of gear has been through, and which to look at first",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is not a command of %s; see: %s --help", args[0], c.CommandPath(), c.CommandPath())
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return usagef("%s wants to know what to tell: add life ITEM, or list; see: %s --help", c.CommandPath(), c.CommandPath())
		},
	}
	c.AddCommand(newGearLife(), newGearList())
	return c
}

// gearFlags are what the commands of gear have in common.
type gearFlags struct {
	data   string
	day    dayFlag
	show   unit.ForceUnit
	asJSON bool
}

func (g *gearFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&g.data, "data", defaultData(), "`directory` of the store")
	c.Flags().Var(&g.day, "on", "`day` for ages, inspections and rules, as in 2026-03-14; otherwise today")
	c.Flags().Var(unitFlag{&g.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N; otherwise kN")
	c.Flags().BoolVar(&g.asJSON, "json", false, "print one JSON document")
}

func (g *gearFlags) unit() unit.ForceUnit {
	if g.show == "" {
		return unit.DefaultShown
	}
	return g.show
}

// newGearLife is the command that tells the life of an item.
func newGearLife() *cobra.Command {
	var flags gearFlags
	var schema bool
	c := &cobra.Command{
		Use:   "life ITEM",
		Short: "Tell what an item of gear has been through",
		Long: `Tells the life of an item of the register: every logged pull that it was in with what it carried there, as a part of
its WLL and breaking strength, load cycles, inspections, age, the owner's rule and what it says today, and whether it is in
use. ITEM is its number, its name, or words that only one item has. A pull that two cells saw counts once. Verdicts are by the
ratings that the item has now.`,
		Example: "  tautlog gear life S-12\n  tautlog gear life \"blue strap\" --json",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case schema && len(args) > 0:
				return usagef("gear life --schema takes no item: it only prints the schema")
			case !schema && len(args) != 1:
				return usagef("gear life wants one item: its number or its name; see: tautlog gear life --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if schema {
				_, err := io.WriteString(c.OutOrStdout(), gearLifeSchema)
				return err
			}
			db, err := store.OpenReader(flags.data)
			if err != nil {
				return err
			}
			defer db.Close()
			l, err := lifeOf(c.Context(), db, args[0], &flags)
			if err != nil {
				return err
			}
			if flags.asJSON {
				return writeJSON(c.OutOrStdout(), l.Record(gear.Date(flags.day.on()), flags.unit(), func(ns int64) string {
					return time.Unix(0, ns).UTC().Format(time.RFC3339Nano)
				}))
			}
			return writeLife(c.OutOrStdout(), l, flags.unit())
		},
	}
	flags.add(c)
	c.Flags().BoolVar(&schema, "schema", false, "print what --json prints, described as a JSON Schema (2020-12), and do nothing else")
	return c
}

// lifeOf sums up the life of the item that is meant by some words.
func lifeOf(ctx context.Context, db *store.Store, words string, g *gearFlags) (life.Life, error) {
	d, err := itemMeant(ctx, db, words)
	if err != nil {
		return life.Life{}, err
	}
	uses, err := db.ItemUses(ctx, d.ID)
	return life.Of(d.Value, uses, gear.Date(g.day.on()), g.unit()), err
}

// mostMeant is how many items are named where words fit several.
const mostMeant = 8

// itemMeant is the item whose number or name is that, or which alone has the
// words.
func itemMeant(ctx context.Context, db *store.Store, words string) (store.Document[gear.Item], error) {
	d, err := db.ItemByKey(ctx, words)
	if err == nil || !errors.Is(err, store.ErrNotFound) {
		return d, err
	}
	found, err := db.FindItems(ctx, store.Find{Text: words, Limit: mostMeant + 1})
	if err != nil {
		return d, err
	}
	var named []store.Document[gear.Item]
	for _, f := range found {
		if f.Value.Name == words {
			named = append(named, f)
		}
	}
	switch {
	case len(named) == 1:
		return named[0], nil
	case len(found) == 1:
		return found[0], nil
	case len(found) == 0:
		return d, fmt.Errorf("the register has no item %q; see: tautlog gear list", words)
	}
	keys := make([]string, 0, mostMeant)
	for _, f := range found[:min(len(found), mostMeant)] {
		keys = append(keys, f.Value.Key())
	}
	if len(found) > mostMeant {
		keys = append(keys, "…")
	}
	return d, fmt.Errorf("several items have %q: write the number of one, of %s", words, strings.Join(keys, ", "))
}

// newGearList is the command that lists the register.
func newGearList() *cobra.Command {
	var flags gearFlags
	var trouble bool
	var words, kind string
	c := &cobra.Command{
		Use:   "list",
		Short: "List the register, with why to look at an item first",
		Long: `Lists the items of the register by number or name: whether each is in use, how many pulls it was in and the most it may
have carried, and why nobody should reach for it without a look: a quarantine, an inspection that found it unfit or is
overdue, a load above what it is rated for, or the owner's rule.`,
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if kind != "" && !gear.Kind(kind).Known() {
				return usagef("%q is no kind of gear; see the kinds in: tautlog import --schema", kind)
			}
			db, err := store.OpenReader(flags.data)
			if err != nil {
				return err
			}
			defer db.Close()
			rows, err := listGear(c.Context(), db, store.Find{Text: words, Kind: gear.Kind(kind)}, &flags, trouble)
			if err != nil {
				return err
			}
			if flags.asJSON {
				return writeJSON(c.OutOrStdout(), struct {
					On    string    `json:"on"`
					Items []gearRow `json:"items"`
				}{flags.day.on(), rows})
			}
			return writeGear(c.OutOrStdout(), rows, flags.unit())
		},
	}
	flags.add(c)
	c.Flags().BoolVar(&trouble, "trouble", false, "only items to look at first")
	c.Flags().StringVar(&words, "text", "", "only items that have these `words` in name, number, place, maker or notes")
	c.Flags().StringVar(&kind, "kind", "", "only items of this `kind`, as in \"recovery strap\"")
	return c
}

// gearRow is one item of a list.
type gearRow struct {
	ID       string     `json:"id,omitempty"`
	Name     string     `json:"name"`
	Kind     gear.Kind  `json:"kind"`
	Vehicle  string     `json:"vehicle,omitempty"`
	Where    string     `json:"where,omitempty"`
	State    life.State `json:"state"`
	Pulls    int        `json:"pulls"`
	Most     unit.Force `json:"-"`
	MostN    float64    `json:"most_N"` // the most that it may have carried; 0: nothing is known
	Troubles []string   `json:"troubles"`
}

func listGear(ctx context.Context, db *store.Store, f store.Find, g *gearFlags, trouble bool) ([]gearRow, error) {
	docs, err := db.FindItems(ctx, f)
	if err != nil {
		return nil, err
	}
	used, _, err := db.ItemsUsed(ctx, 0)
	if err != nil {
		return nil, err
	}
	rows := []gearRow{}
	for _, d := range docs {
		it, u := d.Value, used[d.ID]
		if most := it.Ceiling(); most > 0 && u.Peak > most {
			if u.Over, err = db.LastAbove(ctx, d.ID, most, time.Local); err != nil {
				return nil, err
			}
		}
		state, _ := life.Life{Item: it}.State()
		r := gearRow{
			ID: it.ID, Name: it.Name, Kind: it.Kind, Vehicle: it.Vehicle, Where: it.Where, State: state, Pulls: u.Pulls, Most: u.Peak, MostN: float64(u.Peak),
			Troubles: append([]string{}, life.Troubles(it, u, gear.Date(g.day.on()), g.unit())...),
		}
		if !trouble || len(r.Troubles) > 0 {
			rows = append(rows, r)
		}
	}
	return rows, nil
}

func writeGear(w io.Writer, rows []gearRow, u unit.ForceUnit) error {
	out := &lines{w: bufio.NewWriter(w)}
	if len(rows) == 0 {
		out.say(0, "No item of the register is meant by that.")
	}
	for _, r := range rows {
		say := r.Name
		if r.ID != "" {
			say = r.ID + ", " + say
		}
		say += ", " + string(r.Kind)
		if r.Vehicle != "" {
			say += " on " + r.Vehicle
		}
		say += ": " + string(r.State) + ", " + counted(r.Pulls, "pull")
		if r.Most > 0 {
			say += ", at most " + r.Most.Show(u, 0)
		}
		out.say(0, "%s.", say)
		for _, t := range r.Troubles {
			out.say(4, "%s", t)
		}
	}
	return out.end()
}
