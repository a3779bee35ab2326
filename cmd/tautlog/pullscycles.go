package main

import (
	"github.com/spf13/cobra"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// cyclesFlags say whether and how load cycles are counted.
type cyclesFlags struct {
	wanted bool
	gate   unit.Force
	method string
	calm   bool // lone spikes are left out
}

const (
	byRainflow  = "rainflow"
	byReservoir = "reservoir"
)

func (y *cyclesFlags) add(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&y.wanted, "cycles", false, "count the load cycles of the whole trace")
	f.BoolVar(&y.calm, "without-spikes", false, "with --cycles and --histogram: leave out readings that stand alone, as electrical noise does")
	f.Var(forceFlag{&y.gate}, "gate", "`force`: leave out load cycles of a smaller range, such as 200N")
	f.StringVar(&y.method, "count", byRainflow, "`method` of counting load cycles: rainflow or reservoir")
}

func (y *cyclesFlags) check() error {
	switch {
	case y.gate > 0 && !y.wanted:
		return usagef("--gate is for load cycles: add --cycles")
	case y.method != byRainflow && y.method != byReservoir:
		return usagef("%q is not a method of counting: write --count rainflow or --count reservoir", y.method)
	case y.method != byRainflow && !y.wanted:
		return usagef("--count is for load cycles: add --cycles")
	}
	return nil
}

// counter gives what counts forces, and what ends the count.
func (y *cyclesFlags) counter(add func(trace.Cycle)) (push func([]float64), finish func()) {
	if y.method == byReservoir {
		r := trace.NewReservoir(float64(y.gate), add)
		return r.Push, func() { r.Open(add) }
	}
	r := trace.NewRainflow(float64(y.gate), add)
	return r.Push, r.Close
}
