package main

import (
	"slices"

	"github.com/spf13/cobra"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// steadyRig is the rig that a steady pull is held against.
type steadyRig struct {
	file string
	day  dayFlag

	rig     *rig.Rig // nil: none is given
	notes   []string
	outlook plan.Outlook
}

// told are the flags that say how the line is laid, which the rig says.
func (s *steadyRig) told() []string {
	return []string{"parts", "sheaves", "sheave-loss", "redirect"}
}

// read reads the rig and takes from it how the line is laid, and the mass
// where none is given.
func (s *steadyRig) read(c *cobra.Command, p *steady.Plan) error {
	if s.file == "" {
		return nil
	}
	for _, name := range s.told() {
		if c.Flags().Changed(name) {
			return usagef("the rig says how the line is laid: leave out --%s, or --rig", name)
		}
	}
	r, err := readPlannedRig(s.file)
	if err != nil {
		return err
	}
	s.rig, s.notes = &r, plan.Mass(&p.Mass, r.Stuck)
	anchor := p.Line.AnchorLines
	p.Line = plan.LineOf(r)
	p.Line.AnchorLines = anchor
	return nil
}

// judge holds the pull in the hauled part against the rig.
func (s *steadyRig) judge(line steady.Load, show unit.ForceUnit) (err error) {
	if s.rig == nil {
		return nil
	}
	force := rating.Peak{Value: line.Likely, Low: line.Low, High: line.High, Kind: pull.Steady, On: s.day.on()}
	s.outlook, err = plan.Pull{Rig: *s.rig, Force: force, Unit: show}.Outlook()
	return err
}

// steadyRigDocument is what a rig adds to the JSON form.
type steadyRigDocument struct {
	Rig   rigRecord `json:"rig"`
	Notes []string  `json:"notes"`
	plan.OutlookRecord
	Cautions []rating.Caution `json:"cautions"`
}

func (s *steadyRig) document() *steadyRigDocument {
	if s.rig == nil {
		return nil
	}
	return &steadyRigDocument{rigDocument(*s.rig, s.outlook.Result.Remarks), append([]string{}, s.notes...), s.outlook.Record(), rating.Cautions()}
}

// writeText writes how the rig would fare.
func (s *steadyRig) writeText(out *lines, show unit.ForceUnit) {
	if s.rig != nil {
		out.outlook(s.outlook, show)
	}
}

// remarks are what to know of the rig.
func (s *steadyRig) remarks() []string {
	if s.rig == nil {
		return nil
	}
	return append(slices.Clone(s.notes), s.outlook.Result.Remarks...)
}
