package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// compareFlags choose pulls of a trace that are compared with the first of
// them.
type compareFlags struct {
	numbers []int
	align   string
}

func (k *compareFlags) add(c *cobra.Command) {
	c.Flags().IntSliceVar(&k.numbers, "compare", nil, "`numbers` of pulls, such as 3,5, to compare with the first of them")
	c.Flags().StringVar(&k.align, "align", string(pull.AtOnset), "`moment` at which their courses are laid over each other: onset or peak")
}

func (k *compareFlags) check(c *cobra.Command) error {
	switch {
	case k.align != string(pull.AtOnset) && k.align != string(pull.AtPeak):
		return usagef("%q is no moment to align at: write --align onset or --align peak", k.align)
	case c.Flags().Changed("align") && len(k.numbers) == 0:
		return usagef("--align is for a comparison: add --compare with the numbers of pulls")
	case len(k.numbers) == 1:
		return usagef("--compare wants two pulls or more, such as 3,5")
	}
	return nil
}

// overlaid is some pulls beside the first of them.
type overlaid struct {
	align   pull.Align
	numbers []int
	differ  []pull.Comparison // of each but the first
	curves  []pull.Curve
}

// curvePoints is about how many points a course has.
const curvePoints = 1000

// made compares the pulls, of which it reads the courses again from the source.
func (k *compareFlags) made(pulls []pull.Pull, s *source) (*overlaid, error) {
	made := &overlaid{align: pull.Align(k.align), numbers: k.numbers}
	var chosen []pull.Pull
	for _, n := range k.numbers {
		if n < 1 || n > len(pulls) {
			return nil, fmt.Errorf("there is no pull %d: the trace has %s; change --compare", n, counted(len(pulls), "pull"))
		}
		chosen = append(chosen, pulls[n-1])
	}
	for _, p := range chosen[1:] {
		made.differ = append(made.differ, pull.Compare(chosen[0], p, true))
	}
	o := pull.NewOverlay(chosen, made.align, curvePoints)
	err := s.Each(func(b trace.Batch) error { o.Push(b); return nil })
	made.curves = o.Curves()
	return made, err
}

// overlaidRecord is a comparison as JSON.
type overlaidRecord struct {
	Align string           `json:"align"`
	To    int              `json:"to"` // number of the pull that the others are compared with
	Pulls []comparedRecord `json:"pulls"`
	Curve []curveRecord    `json:"curves"`
}

type comparedRecord struct {
	Pull     int              `json:"pull"`
	Peak     pull.Difference  `json:"peak_N"`
	RiseTime *pull.Difference `json:"rise_time_s"`
	RiseRate *pull.Difference `json:"rise_rate_N_per_s"`
	Impulse  pull.Difference  `json:"impulse_N_s"`
}

type curveRecord struct {
	Pull  int       `json:"pull"`
	From  float64   `json:"from_s"` // seconds from the moment of alignment
	Step  float64   `json:"step_s"`
	Force []float64 `json:"force_N"`
}

func (k *overlaid) record() overlaidRecord {
	r := overlaidRecord{Align: string(k.align), To: k.numbers[0]}
	for i, d := range k.differ {
		r.Pulls = append(r.Pulls, comparedRecord{k.numbers[i+1], d.Peak, d.RiseTime, d.RiseRate, d.Impulse})
	}
	for i, c := range k.curves {
		forces := make([]float64, len(c.Force))
		for j, f := range c.Force {
			forces[j] = float64(f)
		}
		r.Curve = append(r.Curve, curveRecord{k.numbers[i], c.From, c.Step, forces})
	}
	return r
}

// write prints a comparison for people.
func (k *overlaid) write(out io.Writer, u unit.ForceUnit) {
	forces := func(d pull.Difference, per string) string {
		return fmt.Sprintf("%s%s (%s%s to %s%s)%s", more(d.Value, u), per, more(d.Low, u), per, more(d.High, u), per, verdictOf(d))
	}
	for i, d := range k.differ {
		fmt.Fprintf(out, "\nPull %d beside pull %d, read by the same cell:\n", k.numbers[i+1], k.numbers[0])
		fmt.Fprintf(out, "   peak %s\n", forces(d.Peak, ""))
		if r := d.RiseTime; r != nil {
			fmt.Fprintf(out, "   rise time %+.3g s (%+.3g to %+.3g s)%s\n", r.Value, r.Low, r.High, verdictOf(*r))
		}
		if r := d.RiseRate; r != nil {
			fmt.Fprintf(out, "   mean rise rate %s\n", forces(*r, "/s"))
		}
		fmt.Fprintf(out, "   impulse %s\n", forces(d.Impulse, "·s"))
	}
	fmt.Fprintf(out, "--json has their courses, aligned at the %s.\n", k.align)
}

// more prints a force with its sign.
func more(f float64, u unit.ForceUnit) string {
	s := unit.Force(f).Show(u, 0)
	if f > 0 && !strings.HasPrefix(s, "+") {
		return "+" + s
	}
	return s
}

func verdictOf(d pull.Difference) string {
	if d.Told() {
		return ""
	}
	return ": no difference that can be told"
}

// histogramRecord gives a histogram as JSON has it.
func histogramRecord(h *trace.LoadTime) map[string]any {
	classes, gaps := h.Classes()
	if classes == nil {
		classes = []trace.LoadClass{}
	}
	return map[string]any{"classes": classes, "gaps_s": gaps}
}

// writeHistogram prints how long the force stood in each class.
func writeHistogram(out io.Writer, h *trace.LoadTime, u unit.ForceUnit) {
	classes, gaps := h.Classes()
	fmt.Fprintln(out, "\nTime at load, as read, with the zero in it:")
	for _, c := range classes {
		if c.Seconds > 0 {
			fmt.Fprintf(out, "   %s to %s: %s\n", unit.Force(c.From).Show(u, 0), unit.Force(c.To).Show(u, 0), showSeconds(c.Seconds))
		}
	}
	if gaps > 0 {
		fmt.Fprintf(out, "   not read: %s\n", strconv.FormatFloat(gaps, 'g', 3, 64)+" s")
	}
}
