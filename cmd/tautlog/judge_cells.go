package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/survey"
	"tautlog/calc/rig"
)

// cellChoice says which cell of a rig with two a trace is of, and where the
// trace of the other one is.
type cellChoice struct{ name, second string }

// cells are the cells that the traces are of; other is empty where only one
// was read.
type cells struct{ name, other string }

// in checks the choice against the rig. Where a rig has one cell, the trace is
// of that one.
func (c cellChoice) in(r rig.Rig) (cells, error) {
	has := r.Cells()
	var names []string
	for _, it := range has {
		names = append(names, it.Name)
	}
	switch {
	case c.name == "" && len(has) == 1:
		c.name = has[0].Name
	case c.name == "":
		return cells{}, usagef("the rig has two load cells, %s: say which one the trace is of, with --cell NAME", strings.Join(names, " and "))
	}
	if _, err := r.PlacesBy(c.name); err != nil {
		return cells{}, usagef("--cell: %v", err)
	}
	switch {
	case c.second == "":
		return cells{name: c.name}, nil
	case len(has) == 1:
		return cells{}, usagef("--second is the trace of a second load cell, and the rig has only %s", c.name)
	case has[0].Name == c.name:
		return cells{c.name, has[1].Name}, nil
	}
	return cells{c.name, has[0].Name}, nil
}

// secondRecord is the same pull at the rig's other cell.
type secondRecord struct {
	Cell     string  `json:"cell"`
	Peak     float64 `json:"peak_N"`
	PeakLow  float64 `json:"peak_low_N"`
	PeakHigh float64 `json:"peak_high_N"`
}

// judgePulls judges every pull of the trace, with the same pull at the other
// cell where there is a trace of it.
func (j *judgement) judgePulls(ctx context.Context, flags *traceFlags, at cellChoice, stdin io.Reader) error {
	by, err := at.in(j.rig)
	if err != nil {
		return err
	}
	second := &survey.Found{}
	if by.other != "" {
		if second, err = flags.analyse(ctx, at.second, stdin); err != nil {
			return err
		}
	}
	for _, p := range j.found.Pulls {
		first := rating.Reading{Cell: by.name, Peak: rating.PeakOf(p)}
		var also *rating.Reading
		var told *secondRecord
		if i := pull.SameMoment(p, second.Pulls); i >= 0 {
			q := second.Pulls[i]
			also = &rating.Reading{Cell: by.other, Peak: rating.PeakOf(q)}
			told = &secondRecord{by.other, float64(q.Peak), float64(q.PeakLow), float64(q.PeakHigh)}
		}
		res, err := rating.JudgeRead(first, also, j.rig, j.unit)
		if err != nil {
			return fmt.Errorf("cannot judge a pull: %w", err)
		}
		j.results, j.seconds = append(j.results, res), append(j.seconds, told)
	}
	return nil
}
