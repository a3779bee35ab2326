package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
)

// multiplierCheck is what was asked of "tautlog multipliers check".
type multiplierCheck struct {
	source              pullsSource
	assumed             multiplierFlag
	kind, ground, strap string
	json                bool
}

// newMultipliersCheck holds an assumed multiplier against logged pulls.
func newMultipliersCheck() *cobra.Command {
	m := &multiplierCheck{}
	c := &cobra.Command{
		Use:   "check --assume MULTIPLIER [--kind KIND] [--ground GROUND] [--strap STRAP] PULLS.csv | --data DIR",
		Short: "What logged pulls say of an assumed multiplier",
		Long: `Answers whether the log supports or contradicts an assumed multiplier, or does
not decide. Supported: the bound of the fit lies at or below it. Contradicted:
even the lower 95 % limit of the share of pulls above it is more than 5 %. Of
several classes, the one with the largest bound decides.

` + pullsTable + "\n\n" + fromLog,
		Example: "  tautlog multipliers check --assume 3 --kind kinetic PULLS.csv",
		Args:    m.source.check,
		RunE:    m.run,
	}
	m.source.add(c)
	f := c.Flags()
	f.Var(&m.assumed, "assume", "`multiplier` to check, such as 3")
	f.StringVar(&m.kind, "kind", "", "only pulls of this `kind`: kinetic, steady, proof")
	f.StringVar(&m.ground, "ground", "", "only pulls on this `ground`")
	f.StringVar(&m.strap, "strap", "", "only pulls with this `strap`")
	f.BoolVar(&m.json, "json", false, "print one JSON document")
	return c
}

func (m *multiplierCheck) run(c *cobra.Command, args []string) error {
	if m.assumed == 0 {
		return usagef("check wants a multiplier: add --assume 3; see: %s --help", c.CommandPath())
	}
	pulls, name, err := m.source.read(c, args)
	if err != nil {
		return err
	}
	given := func(name string) bool { return c.Flags().Changed(name) }
	chosen := func(k shock.Class) bool {
		return (!given("kind") || k.Kind == pull.Kind(m.kind)) &&
			(!given("ground") || strings.EqualFold(k.Ground, m.ground)) &&
			(!given("strap") || strings.EqualFold(k.Strap, m.strap))
	}
	set := shock.Fit(pulls)
	checked := set.Check(float64(m.assumed), chosen)
	if checked.Pulls == 0 {
		return fmt.Errorf("%s: no pull that can be used is of that kind, ground and strap; there is: %s", name, known(set))
	}
	for _, l := range set.LeftOut {
		fmt.Fprintf(c.ErrOrStderr(), "%s is left out: %s\n", l.Pull.Name(), l.Reason)
	}
	if m.json {
		return writeJSON(c.OutOrStdout(), checked.Record())
	}
	return writeChecked(c.OutOrStdout(), checked)
}

// known lists the classes of a set.
func known(s shock.Set) string {
	if len(s.Classes) == 0 {
		return "none"
	}
	text := ""
	for i, c := range s.Classes {
		if i > 0 {
			text += "; "
		}
		text += c.Class.String()
	}
	return text
}

func writeChecked(w io.Writer, checked shock.Checked) error {
	out := &lines{w: bufio.NewWriter(w)}
	r := checked.Record()
	out.say(0, "%s: a multiplier of %.3g.", r.Answer, r.Assumed)
	out.gap()
	out.say(0, "%s", r.Sentence)
	if r.Model != nil {
		out.say(0, "%s", r.Model.Sentence())
	}
	return out.end()
}

// multiplierFlag is a flag whose value is a plain number above zero.
type multiplierFlag float64

// Set reads the value.
func (m *multiplierFlag) Set(s string) error {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v > 0) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not a multiplier: a plain number above zero, such as 3", s)
	}
	*m = multiplierFlag(v)
	return nil
}

// String prints the value; nothing stands for none.
func (m *multiplierFlag) String() string {
	if *m == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(*m), 'g', -1, 64)
}

// Type names the kind of value in the help.
func (m *multiplierFlag) Type() string { return "multiplier" }
