package main

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// multiplierNext is what was asked of "tautlog multipliers next".
type multiplierNext struct {
	source  pullsSource
	ask     shock.NextAsk
	assumed multiplierFlag
	speeds  []string
	straps  []string
	rig     string
	show    unit.ForceUnit
	json    bool

	largest *plan.Largest // of the rig, where one is given
}

// newMultipliersNext proposes the pulls of a test day.
func newMultipliersNext() *cobra.Command {
	m := &multiplierNext{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "next --limit FORCE | --rig FILE [--ground GROUND] [--strap STRAP] [--speed SPEED] PULLS.csv | --data DIR",
		Short: "Which pulls to make next, so that the bound becomes narrower",
		Long: `Plans a test day: the pulls that are expected to narrow the bound of a pull to be
planned (the target) most, gentle ones first, each with what its own peak stays
below. None of them is above the limit by its upper bound; those that would be
are listed with the reason.

The target is given by --ground, --strap and --speed; what is left open is taken
from the log: the class with the widest bound, its latest vehicles, its fastest
speed. The pulls to choose from are the straps, grounds and speeds of the log,
or those given with --with-strap, --with-ground and --with-speed.

With --rig, the limit is the pull of the line at which the first item of that
rig reaches a limit that is known of it.

` + pullsTable + "\n\n" + fromLog,
		Example: "  tautlog multipliers next --limit 45kN --ground mud --strap 'blue strap' --speed 10km/h PULLS.csv",
		RunE:    m.run,
	}
	c.Args = m.source.check
	m.add(c)
	return c
}

func (m *multiplierNext) add(c *cobra.Command) {
	m.source.add(c)
	f, t := c.Flags(), &m.ask.Target
	f.Var(forceFlag{&m.ask.Limit}, "limit", "`force` on the line that must not be exceeded, such as 45kN")
	f.StringVar(&m.rig, "rig", "", "`file` that describes the rig whose ratings must not be exceeded, as JSON")
	f.Var(kindFlag{&t.Class.Kind}, "kind", "`kind` of pull; kinetic unless told otherwise")
	f.StringVar(&t.Class.Ground, "ground", "", "`ground` of the target")
	f.StringVar(&t.Class.Strap, "strap", "", "`strap` of the target")
	f.Var(&quantityFlag[unit.Speed]{kind: "speed", value: &t.Speed, parse: unit.ParseSpeed, positive: true}, "speed", "`speed` of the target, such as 10km/h")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &t.Puller, parse: unit.ParseMass, positive: true}, "puller", "`mass` of the pulling vehicle, such as 2.8t")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &t.Reference, parse: unit.ParseMass, positive: true}, "stuck", "`mass` of the vehicle that is pulled")
	f.StringArrayVar(&m.speeds, "with-speed", nil, "a `speed` that can be driven, such as 6km/h; as often as there are")
	f.StringArrayVar(&m.straps, "with-strap", nil, "a `strap` that can be used: its name or \"NAME, LENGTH, MBS\", such as \"red rope, 9m, 110kN\"; as often as there are")
	f.StringArrayVar(&m.ask.Offer.Grounds, "with-ground", nil, "a `ground` that can be pulled on; as often as there are")
	f.IntVar(&m.ask.Count, "pulls", shock.NextCount, "how `many` pulls the day has time for")
	f.Var(&m.assumed, "assume", "`multiplier` for what nothing is known of; 3 unless given (common practice, no source)")
	f.Var(unitFlag{&m.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N; otherwise kN")
	f.BoolVar(&m.json, "json", false, "print one JSON document")
}

func (m *multiplierNext) run(c *cobra.Command, args []string) error {
	if (m.ask.Limit == 0) == (m.rig == "") {
		return usagef("next wants what the line may carry at most: add either --limit 45kN or --rig FILE; see: %s --help", c.CommandPath())
	}
	if m.ask.Count < 1 {
		return usagef("--pulls wants at least 1; see: %s --help", c.CommandPath())
	}
	if err := m.offer(); err != nil {
		return fmt.Errorf("%w; see: %s --help", err, c.CommandPath())
	}
	err := m.limit()
	if err != nil {
		return err
	}
	from := ""
	if m.ask.Pulls, from, err = m.source.read(c, args); err != nil {
		return err
	}
	m.ask.Assumed = float64(m.assumed)
	next, err := shock.Next(m.ask)
	if err != nil {
		return fmt.Errorf("%s: %w", from, err)
	}
	if m.json {
		return writeJSON(c.OutOrStdout(), struct {
			shock.NextRecord
			LimitFrom []string         `json:"limit_from,omitempty"` // what the rig says of the limit
			Cautions  []rating.Caution `json:"cautions"`
		}{next.Record(), m.limitFrom(), rating.Cautions()})
	}
	return m.write(c.OutOrStdout(), next)
}

// limit takes the limit from the rig, where one is given.
func (m *multiplierNext) limit() error {
	if m.rig == "" {
		return nil
	}
	r, err := readPlannedRig(m.rig)
	if err != nil {
		return err
	}
	at := ""
	if p, ok := r.Stretching(); ok {
		at = p.Ref
	}
	largest, err := plan.LargestPull(r, at, cmp.Or(m.ask.Target.Class.Kind, pull.Kinetic), m.show)
	if err != nil {
		return fmt.Errorf("%s: %w", m.rig, err)
	}
	if len(largest.NotRated) > 0 || !largest.Limited() {
		return fmt.Errorf("%s: %s Plan with another rig, or give --limit", m.rig, strings.Join(largest.Text(m.show), " "))
	}
	m.largest, m.ask.Limit = &largest, largest.Force
	return nil
}

// limitFrom says what the rig has to do with the limit, and what of it could
// not be judged; nothing where the limit was given.
func (m *multiplierNext) limitFrom() []string {
	if m.largest == nil {
		return nil
	}
	return m.largest.Text(m.show)
}

// offer reads the speeds and straps that the club has.
func (m *multiplierNext) offer() error {
	for _, s := range m.speeds {
		v, err := unit.ParseSpeed(s)
		if err != nil {
			return usagef("--with-speed: %w", err)
		}
		if !(v > 0) {
			return usagef("--with-speed: %q is not above zero", s)
		}
		m.ask.Offer.Speeds = append(m.ask.Offer.Speeds, v)
	}
	for _, s := range m.straps {
		strap, err := shock.ParseOffered(s)
		if err != nil {
			return usagef("--with-strap: %w", err)
		}
		m.ask.Offer.Straps = append(m.ask.Offer.Straps, strap)
	}
	return nil
}
