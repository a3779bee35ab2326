package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
)

// newMultipliersFit fits the multipliers of all classes.
func newMultipliersFit() *cobra.Command {
	var source pullsSource
	asJSON := false
	c := &cobra.Command{
		Use:   "fit PULLS.csv | --data DIR [--cell NAME] [--from TIME] [--to TIME] [--day DAY]",
		Short: "Median and upper bound of the multiplier, by kind, ground and strap",
		Long: `Fits the multiplier of each class of pulls: the median, and the bound that 95 in
100 such pulls stay below, with 95 % confidence, on any day. Classes of one kind
are fitted together, so that small ones borrow from the others; a class of
fewer than 5 pulls is marked as pooled, one of fewer than 3 has no bound.

Where speeds are known, kinetic pulls also tell how stiff straps are for their
length and strength, and how hard each ground holds.

` + pullsTable + "\n\n" + fromLog,
		Example: "  tautlog multipliers fit PULLS.csv\n  tautlog multipliers fit --data ~/tautlog --from 2026-04-01",
		Args:    source.check,
		RunE: func(c *cobra.Command, args []string) error {
			pulls, _, err := source.read(c, args)
			if err != nil {
				return err
			}
			r := shock.Fit(pulls).Record()
			r.Speed = shock.RecordSpeed(shock.FitSpeed(pulls))
			if asJSON {
				return writeJSON(c.OutOrStdout(), r)
			}
			return writeMultipliers(c.OutOrStdout(), r)
		},
	}
	source.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// writeMultipliers writes the set for a terminal.
func writeMultipliers(w io.Writer, r shock.SetRecord) error {
	out := &lines{w: bufio.NewWriter(w)}
	out.say(0, "Multipliers: how many times the %s a pull put on the line; that mass is the stuck vehicle's, unless a pull says otherwise. The bound: with 95 %% confidence, 95 in 100 such pulls stay below it.", r.Of)
	for _, c := range r.Classes {
		out.gap()
		out.say(0, "%s", className(c.ClassName))
		bound := "no bound"
		if c.Upper != nil {
			bound = fmt.Sprintf("bound %.2f", *c.Upper)
		}
		out.say(2, "median %.2f, %s; %s on %s", c.Median, bound, counted(c.Pulls, "pull"), counted(c.Days, "day"))
		if c.Note != "" {
			out.say(2, "Take care: %s.", c.Note)
		}
		without(out, "outliers", c, c.WithoutOutliers)
		without(out, "flagged pulls", c, c.WithoutFlagged)
	}
	writeListed(out, r)
	writeSpeed(out, r.Speed)
	return out.end()
}

func without(out *lines, what string, c shock.ClassRecord, b *shock.BoundRecord) {
	switch {
	case b == nil || b.Pulls == c.Pulls:
	case b.Median == nil:
		out.say(2, "without %s: no pull is left", what)
	case b.Upper == nil:
		out.say(2, "without %s: median %.2f, no bound; %s", what, *b.Median, counted(b.Pulls, "pull"))
	default:
		out.say(2, "without %s: median %.2f, bound %.2f; %s", what, *b.Median, *b.Upper, counted(b.Pulls, "pull"))
	}
}

// writeListed lists the pulls of which something is to be known.
func writeListed(out *lines, r shock.SetRecord) {
	if len(r.Outliers) > 0 {
		out.gap()
		out.say(0, "Far from the others of their class, but used:")
		for _, o := range r.Outliers {
			out.say(2, "%s: %.2f (%s, day %s)", o.Name(), o.Factor, className(o.ClassName), o.Day)
		}
	}
	if len(r.Flagged) > 0 {
		out.gap()
		out.say(0, "Flagged, and used for what they are:")
		for _, f := range r.Flagged {
			as := "at least"
			if f.High != nil {
				as = fmt.Sprintf("%.2f to", f.Low)
				f.Low = *f.High
			}
			out.say(2, "%s: %s %.2f (%s)", f.Name(), as, f.Low, strings.Join(f.Flags, ", "))
		}
	}
	if len(r.LeftOut) > 0 {
		out.gap()
		out.say(0, "Left out:")
		for _, l := range r.LeftOut {
			out.say(2, "%s: %s", l.Name(), l.Reason)
		}
	}
}

// writeSpeed writes what pulls of known speed tell.
func writeSpeed(out *lines, s *shock.SpeedRecord) {
	if s == nil {
		return
	}
	out.gap()
	if s.Pulls == 0 {
		out.say(0, "Too few pulls of known speed to fit straps and grounds.")
	} else {
		out.say(0, "By speed, from %s on %s: %s.", counted(s.Pulls, "pull"), counted(s.Days, "day"), s.Note)
		for _, c := range s.Straps {
			out.say(2, "%s: %s; stiffness × length ÷ breaking strength %s (%s)", shock.StrapName(c.Name), c.Stretch(), c.Words(), counted(c.Pulls, "pull"))
		}
		for _, c := range s.Grounds {
			out.say(2, "%s: resistance ÷ weight %s (%s)", shock.GroundName(c.Name), c.Words(), counted(c.Pulls, "pull"))
		}
		out.say(2, "Peaks differ from that by about %.0f %%.", 100*math.Expm1(s.Spread))
	}
	for _, l := range s.LeftOut {
		out.say(2, "%s is not in it: %s", l.Name(), l.Reason)
	}
}

func className(c shock.ClassName) string {
	return shock.Class(c).String()
}
