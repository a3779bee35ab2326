package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// writePulls prints the pulls for people.
func writePulls(w io.Writer, found *told, u unit.ForceUnit) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "%s over %s", counted(found.Samples, "reading"), showSeconds(found.Duration))
	if found.Rate > 0 {
		fmt.Fprintf(out, ", at %s a second", strconv.FormatFloat(found.Rate, 'g', 4, 64))
	}
	fmt.Fprintf(out, ", %s.\n%s.\n", counted(found.Gaps, "gap"), counted(len(found.Pulls), "pull"))
	if u == unit.TonneF {
		fmt.Fprintln(out, "t means tonne-force.")
	}
	writeSpikes(out, found.Found, u)
	writeZero(out, found.Zero, u)
	attempts := pull.Attempts(found.Pulls, pull.SameBogging)
	for i, p := range found.Pulls {
		writePull(out, i+1, p, found.First, u)
		if a := attempts[i]; a.Of > 1 {
			fmt.Fprintf(out, "   attempt %d of %d at the same bogging, as it seems: %s or less between them\n", a.N, a.Of, showSeconds(pull.SameBogging))
		}
	}
	if found.comparison != nil {
		found.comparison.write(out, u)
	}
	if found.histogram != nil {
		writeHistogram(out, found.histogram, u)
	}
	if found.cycles != nil {
		if err := summariseCycles(out, found.cycles, u); err != nil {
			return err
		}
	}
	if left := leftOut(found.Pulls); left != "" {
		fmt.Fprintf(out, "\n%s\n", left)
	}
	fmt.Fprintln(out, "\nCautions:")
	for _, c := range rating.Cautions() {
		fmt.Fprintln(out, "  "+c.Short)
	}
	return out.Flush()
}

// mostSpikesShown is how many spikes are listed for people.
const mostSpikesShown = 5

func writeSpikes(out io.Writer, found *survey.Found, u unit.ForceUnit) {
	n := len(found.Spikes)
	if n == 0 {
		return
	}
	var at []string
	for _, s := range found.Spikes[:min(n, mostSpikesShown)] {
		at = append(at, fmt.Sprintf("%s at %s s", s.Reading.Show(u, 0), strconv.FormatFloat(float64(s.At-found.First)/1e9, 'f', 3, 64)))
	}
	if n > mostSpikesShown {
		at = append(at, "…")
	}
	fmt.Fprintf(out, "%s left out, taken for electrical: %s.\n", counted(n, "single reading"), strings.Join(at, ", "))
}

// writeZero says how the zero wandered, where that can be seen in a peak.
func writeZero(out io.Writer, z pull.ZeroCourse, u unit.ForceUnit) {
	if z.Seen {
		fmt.Fprintf(out, "The slack line read %s at first and %s at last, and between %s and %s; each pull has its own zero.\n",
			z.First.Show(u, 0), z.Last.Show(u, 0), z.Low.Show(u, 0), z.High.Show(u, 0))
	}
}

// leftOut says what no interval of these pulls holds, because it is not known.
func leftOut(pulls []pull.Pull) string {
	var names []string
	for _, p := range pulls {
		for _, name := range p.Unknown() {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "Left out of the intervals, because not known: " + strings.Join(names, ", ") + "."
}

func writePull(out io.Writer, n int, p pull.Pull, origin int64, u unit.ForceUnit) {
	at := func(t int64) string { return strconv.FormatFloat(float64(t-origin)/1e9, 'f', 3, 64) + " s" }
	show := func(f float64) string { return unit.Force(f).Show(u, 0) }
	fmt.Fprintf(out, "\n%d. %s pull from %s to %s\n", n, p.Kind, at(p.Start), at(p.End))
	line := func(format string, args ...any) { fmt.Fprintf(out, "   "+format+"\n", args...) }
	line("peak %s at %s", unit.ShowInterval("true peak", p.Peak, p.PeakLow, p.PeakHigh, u), at(p.PeakAt))
	if p.RiseTime > 0 {
		line("rise from 10 to 90 %% in %s ± %s, %s/s on average, %s/s at most",
			showSeconds(p.RiseTime), showSeconds(max(p.RiseTime95, 0.001)), unit.ShowHalf(unit.Force(p.RiseRate), unit.Force(p.RiseRate95), u), show(p.MaxRise))
	} else {
		line("the rise was not seen")
	}
	line("impulse %s·s to the peak, %s·s in all; above half of the peak for %s", show(p.ToPeak), unit.ShowHalf(unit.Force(p.Impulse), unit.Force(p.Impulse95), u), showSeconds(p.AboveHalf))
	if p.Steady != nil {
		line("steady level %s%s", p.Steady.Show(u, 0), swings(p.StickSlip, u))
	}
	if p.HoldDecay != nil {
		line("%s %% of the load was lost while it was held", strconv.FormatFloat(100**p.HoldDecay, 'g', 2, 64))
		if p.ZeroShift != nil {
			line("the slack line reads %s from where it was before", p.ZeroShift.Show(u, 0))
		}
	}
	if p.Rebound != nil {
		line("the load came back %s times a second%s", strconv.FormatFloat(*p.Rebound, 'g', 3, 64), damping(p.Damping))
	}
	for _, remark := range p.Remarks {
		line("Take care: %s", remark)
	}
}

// swings says by how much a working load went up and down about its level.
func swings(amplitude *unit.Force, u unit.ForceUnit) string {
	if amplitude == nil || *amplitude <= 0 {
		return ""
	}
	return ", with swings of " + amplitude.Show(u, 0) + " up and down"
}

func damping(ratio *float64) string {
	if ratio == nil {
		return ""
	}
	return ", damping ratio " + strconv.FormatFloat(*ratio, 'g', 2, 64)
}

// summariseCycles says how many cycles there are and how large the largest
// is; all of them are for a program to read.
func summariseCycles(out io.Writer, cycles *tracefile.Cycles, u unit.ForceUnit) error {
	count, largest := 0.0, trace.Cycle{}
	err := cycles.Each(func(y trace.Cycle) error {
		count += y.Count
		if y.Range > largest.Range {
			largest = y
		}
		return nil
	})
	if err != nil || count == 0 {
		fmt.Fprintf(out, "\nNo load cycles.\n")
		return err
	}
	fmt.Fprintf(out, "\n%s load cycles. The largest has a range of %s about a mean of %s. --json lists them all.\n",
		strconv.FormatFloat(count, 'f', -1, 64), unit.Force(largest.Range).Show(u, 0), unit.Force(largest.Mean).Show(u, 0))
	return nil
}

func counted(n int, what string) string {
	switch n {
	case 0:
		return "no " + what + "s"
	case 1:
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// showSeconds prints a duration for people: three digits below a minute,
// hours, minutes and seconds above.
func showSeconds(s float64) string {
	if s < 60 {
		return strconv.FormatFloat(s, 'g', 3, 64) + " s"
	}
	return time.Duration(s * float64(time.Second)).Round(time.Second).String()
}
