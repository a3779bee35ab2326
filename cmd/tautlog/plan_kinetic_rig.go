package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/plan"
	"tautlog/analysis/rating"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// kineticRig is what a planned kinetic pull is held against: a set of
// multipliers and a rig.
type kineticRig struct {
	file          string
	with          setFlags
	strap, ground string
	reference     unit.Mass
	highest       bool
	day           dayFlag

	forecast *plan.Forecast // nil: nothing was asked for
	speed    *plan.Highest
}

func (r *kineticRig) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&r.file, "rig", "", "`file` that describes the rig, as JSON: masses and strap are taken from it where they are not given, and every item is judged")
	r.with.add(c)
	r.day.add(f)
	f.StringVar(&r.ground, "ground", "", "`name` of the ground, as the set has it")
	f.StringVar(&r.strap, "strap", "", "`name` of the kind of strap, as the set has it; otherwise that of the rig's strap, or what kind it is")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &r.reference, parse: unit.ParseMass, positive: true}, "reference", "`mass` of whose weight multipliers are; otherwise that of the stuck vehicle")
	f.BoolVar(&r.highest, "highest-speed", false, "find the highest speed at which every item of the rig stays inside its rating")
}

// asked tells whether anything beyond the model is asked for.
func (r *kineticRig) asked(given func(string) bool) bool {
	return slices.ContainsFunc([]string{"rig", "with", "data", "ground", "strap", "reference", "highest-speed"}, given)
}

// knows tells whether a flag need not be given, because the rig may say it, or
// how the strap stretches the set. If they do not, the forecast says what is
// missing.
func (r *kineticRig) knows(flag string) bool {
	if flag == "stiffness" && r.strap != "" {
		return true
	}
	return r.file != "" && slices.Contains([]string{"puller", "stuck", "length", "mbs", "stiffness"}, flag)
}

// calculate makes the forecast of a pull.
func (r *kineticRig) calculate(c *cobra.Command, p kinetic.Plan, show unit.ForceUnit) error {
	if r.highest && r.file == "" {
		return usagef("--highest-speed is found by the ratings of a rig: add --rig FILE")
	}
	k := plan.Kinetic{Plan: p, Strap: r.strap, Ground: r.ground, Reference: r.reference, Unit: show, On: r.day.on()}
	if r.file != "" {
		gear, err := readPlannedRig(r.file)
		if err != nil {
			return err
		}
		k.Rig = &gear
	}
	var err error
	if k.With, err = r.with.chosen(c.Context()); err != nil {
		return err
	}
	f, err := k.Forecast()
	if lacking, ok := errors.AsType[*plan.MissingError](err); ok {
		return usagef("%s does not say all that a kinetic pull needs: add %s", r.told(k), strings.Join(flagsFor(lacking.What), ", "))
	}
	if err != nil {
		return err
	}
	r.forecast = &f
	if r.highest {
		h, err := f.Highest()
		r.speed = &h
		return err
	}
	return nil
}

// told names what was asked for what the flags do not say.
func (r *kineticRig) told(k plan.Kinetic) string {
	if r.file == "" {
		return "the set " + k.With.Label()
	}
	return "the rig in " + r.file
}

// flagsFor names the flags with which to say what is missing.
func flagsFor(what []string) (flags []string) {
	for _, w := range what {
		flags = append(flags, map[string]string{plan.Puller: "--puller", plan.Stuck: "--stuck", plan.Line: lineFlags}[w])
	}
	return flags
}

// kineticDocument is the JSON form of a pull that is held against a set.
type kineticDocument struct {
	kinetic.Record
	Rig *rigRecord `json:"rig,omitempty"`
	plan.ForecastRecord
	*plan.HighestRecord
	Cautions []rating.Caution `json:"cautions"`
}

func (r *kineticRig) writeJSON(w io.Writer) error {
	d := kineticDocument{Record: r.forecast.Outcome.Record(), ForecastRecord: r.forecast.Record(), Cautions: rating.Cautions()}
	if o := r.forecast.Outlook; o != nil {
		doc := rigDocument(o.Rig, o.Result.Remarks)
		d.Rig = &doc
	}
	if r.speed != nil {
		h := r.speed.Record()
		d.HighestRecord = &h
	}
	return writeJSON(w, d)
}

// writeText adds to the text of the model what the set says, and how the rig
// would fare.
func (r *kineticRig) writeText(out *lines, show unit.ForceUnit) {
	f := r.forecast
	out.gap()
	out.say(0, "%s", f.PlannedWith)
	for _, e := range f.Evidence {
		out.say(2, "%s", evidenceText(e, show))
	}
	for _, s := range f.Recoil.Text() {
		out.say(2, "%s", s)
	}
	if f.Outlook != nil {
		out.outlook(*f.Outlook, show)
	}
	if r.speed == nil {
		return
	}
	out.gap()
	out.say(0, "How fast, for the first limit:")
	for _, s := range r.speed.Text {
		out.say(2, "%s", s)
	}
}

// evidenceText says one evidence in a line.
func evidenceText(e plan.Evidence, show unit.ForceUnit) string {
	var peaks []string
	if e.Expected != nil {
		peaks = append(peaks, e.Expected.Show(show, 0)+" expected")
	}
	if e.Upper != nil {
		peaks = append(peaks, "up to "+e.Upper.Show(show, 0))
	}
	return fmt.Sprintf("%s: %s; %s.", e.From, strings.Join(peaks, ", "), e.Text)
}

// notes are what to know of the forecast.
func (r *kineticRig) notes() []string {
	if r.forecast == nil {
		return nil
	}
	notes := r.forecast.Notes
	if o := r.forecast.Outlook; o != nil {
		notes = append(slices.Clone(notes), o.Result.Remarks...)
	}
	return notes
}
