package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/survey"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// newJudge is the command that compares the pulls of a trace with the
// ratings of the gear that carried them.
func newJudge() *cobra.Command {
	var (
		flags  traceFlags
		file   string
		day    dayFlag
		at     cellChoice
		show   unit.ForceUnit
		asJSON bool
		schema bool
	)
	c := &cobra.Command{
		Use:     "judge TRACE.csv --rig FILE",
		Short:   "Compare the pulls of a trace with the ratings of the gear that carried them",
		Example: `  tautlog judge TRACE.csv --rig RIG.json`,
		Long: `Finds the pulls in a trace of force over time and says, for each item of the rig,
what it carried at the peak and how that compares with its rating, the weakest
item first.

FILE is a JSON description of the rig: the chain of gear from the pulling end to
the stuck end, with the ratings as stamped and where the load cell sits.

What does not fit in the rig comes first: what can be seen before any pull, such
as a strap that is too strong, a pair-only point used alone, or an inspection
that is overdue on the day (--on).`,
		Args: func(c *cobra.Command, args []string) error {
			switch {
			case !schema:
				return oneTrace(c, args)
			case len(args) > 0:
				return usagef("judge --schema takes no trace: it only prints the schema")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if schema {
				return writeJudgeSchema(c.OutOrStdout())
			}
			if file == "" {
				return usagef("judge wants a rig: add --rig FILE; see: %s --help", c.CommandPath())
			}
			if show == "" {
				show = flags.columns.Unit
			}
			j, err := judge(c.Context(), args[0], file, &flags, at, show, c.InOrStdin())
			if err != nil {
				return err
			}
			j.misfits(day.on())
			if asJSON {
				return j.writeJSON(c.OutOrStdout())
			}
			return j.writeText(c.OutOrStdout())
		},
	}
	flags.add(c)
	c.Flags().StringVar(&file, "rig", "", "`file` that describes the rig, as JSON")
	c.Flags().Var(unitFlag{&show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N; otherwise that of --unit, or kN")
	c.Flags().StringVar(&at.name, "cell", "", "`name` of the cell that the trace is of, where the rig has two")
	c.Flags().StringVar(&at.second, "second", "", "`trace` of the rig's other cell, its times counted from the same moment")
	day.add(c.Flags())
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	c.Flags().BoolVar(&schema, "schema", false, "print what --json prints, described as a JSON Schema (2020-12), and do nothing else")
	return c
}

// judgement is the pulls of one trace against one rig.
type judgement struct {
	trace   string
	rig     rig.Rig
	found   *survey.Found
	results []rating.Result // one a pull
	seconds []*secondRecord // one a pull: the other cell's reading; nil where there is none
	remarks []string        // on the rig
	unit    unit.ForceUnit
	misfit  []rating.Mismatch // what does not fit in the rig, for the kinds of pulls found
}

// misfits finds what does not fit in the rig on a day, for every kind of pull
// that was found.
func (j *judgement) misfits(day string) {
	var kind pull.Kind
	if slices.ContainsFunc(j.found.Pulls, func(p pull.Pull) bool { return p.Kind == pull.Kinetic }) {
		kind = pull.Kinetic // which finds all that the others do
	}
	j.misfit = rating.Mismatches(j.rig, kind, day, j.unit)
}

// judge reads the rig and then the trace, so that a mistake in the short file
// shows at once.
func judge(ctx context.Context, trace, file string, flags *traceFlags, at cellChoice, show unit.ForceUnit, stdin io.Reader) (*judgement, error) {
	r, err := readRig(file)
	if err != nil {
		return nil, err
	}
	if _, err := at.in(r); err != nil {
		return nil, err
	}
	j := &judgement{trace: trace, rig: r, remarks: r.Remarks(), unit: show}
	if j.found, err = flags.analyse(ctx, trace, stdin); err != nil {
		return nil, err
	}
	return j, j.judgePulls(ctx, flags, at, stdin)
}

// readRig reads a rig file; errors name it.
func readRig(file string) (rig.Rig, error) { return readRigAs(file, rig.Decode) }

// readPlannedRig reads a rig that nothing measures yet: it needs no cell.
func readPlannedRig(file string) (rig.Rig, error) {
	r, err := readRigAs(file, rig.DecodeDraft)
	if err == nil {
		_, err = r.LinePlaces("")
	}
	if errors.Is(err, rig.ErrRig) {
		err = fmt.Errorf("%s: %w", file, err)
	}
	return r, err
}

func readRigAs(file string, decode func(io.Reader) (rig.Rig, error)) (rig.Rig, error) {
	f, err := os.Open(file)
	if err != nil {
		return rig.Rig{}, fmt.Errorf("cannot read the rig: %w", err)
	}
	defer f.Close()
	r, err := decode(f)
	if err != nil {
		return rig.Rig{}, fmt.Errorf("%s: %w", file, err)
	}
	return r, nil
}

type judgeRecord struct {
	Trace      traceRecord       `json:"trace"`
	Rig        rigRecord         `json:"rig"`
	Mismatches []rating.Mismatch `json:"mismatches"`
	Pulls      []judgedRecord    `json:"pulls"`
	Cautions   []rating.Caution  `json:"cautions"`
}

type rigRecord struct {
	ID      string   `json:"id,omitempty"`
	Name    string   `json:"name"`
	Pulling string   `json:"pulling"`
	Stuck   string   `json:"stuck"`
	Remarks []string `json:"remarks"`
}

func rigDocument(r rig.Rig, remarks []string) rigRecord {
	return rigRecord{r.ID, r.Name, r.Pulling.Name, r.Stuck.Name, remarks}
}

type judgedRecord struct {
	pull.Record
	Verdict    rating.Verdict      `json:"verdict"`
	Weakest    string              `json:"weakest"`
	WeakestRef string              `json:"weakest_ref"`
	Summary    string              `json:"summary"`
	Second     *secondRecord       `json:"second,omitempty"`
	Items      []rating.ItemRecord `json:"items"`
}

func (j *judgement) writeJSON(w io.Writer) error {
	base := pullsDocument(j.found)
	doc := judgeRecord{
		Trace:      base.Trace,
		Rig:        rigDocument(j.rig, j.remarks),
		Mismatches: append([]rating.Mismatch{}, j.misfit...),
		Pulls:      make([]judgedRecord, 0, len(base.Pulls)),
		Cautions:   rating.Cautions(),
	}
	for i, p := range base.Pulls {
		record := judged(p.Record, j.results[i])
		record.Second = j.seconds[i]
		doc.Pulls = append(doc.Pulls, record)
	}
	return writeJSON(w, doc)
}

func judged(p pull.Record, res rating.Result) judgedRecord {
	r := judgedRecord{Record: p, Verdict: res.Verdict, Summary: res.Summary, Items: []rating.ItemRecord{}}
	if weakest, ok := res.Weakest(); ok {
		r.Weakest, r.WeakestRef = weakest.Name, weakest.Ref
	}
	for _, it := range res.Items {
		r.Items = append(r.Items, it.Record())
	}
	return r
}
