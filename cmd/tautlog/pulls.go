package main

import (
	"errors"

	"github.com/spf13/cobra"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// pullsCommand is what was asked of "tautlog pulls".
type pullsCommand struct {
	trace  traceFlags
	stored storedFlags
	gate   unit.Force
	cycles bool
	json   bool
	show   unit.ForceUnit
}

// newPulls is the command that finds and measures the pulls of a trace.
func newPulls() *cobra.Command {
	p := pullsCommand{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "pulls TRACE.csv | --data DIR [--cell NAME] [--from TIME] [--to TIME]",
		Short: "Find and measure the pulls of a trace",
		Long: `Finds the pulls in a trace of force over time and measures each: the peak with
the interval in which the true peak lies, the rise, the impulse, the kind.

TRACE.csv is a CSV file with a header, a time column and a force column, plain
or packed with gzip or zstd; "-" is standard input. With --data the trace is
what the store has recorded. Unless --capacity is given, the trace is read
twice, and standard input is kept in a temporary file meanwhile.

With --cycles the load cycles of the whole trace are counted by the rainflow
method, in the order in which they close; those left open at the end come last,
as halves.`,
		RunE: p.run,
	}
	p.trace.add(c)
	p.stored.add(c)
	f := c.Flags()
	f.BoolVar(&p.json, "json", false, "print one JSON document")
	f.BoolVar(&p.cycles, "cycles", false, "count the load cycles of the whole trace")
	f.Var(forceFlag{&p.gate}, "gate", "`force`: leave out load cycles of a smaller range, such as 200N")
	f.Var(unitFlag{&p.show}, "show", "`unit` of the forces that are printed for people: N, kN, kgf, lbf or t")
	return c
}

func (p *pullsCommand) run(c *cobra.Command, args []string) (err error) {
	if err := p.check(c, args); err != nil {
		return err
	}
	var cycles *tracefile.Cycles
	var watchers []func(trace.Batch)
	finish := func() {}
	if p.cycles {
		cycles = &tracefile.Cycles{}
		defer func() { err = errors.Join(err, cycles.Close()) }()
		counter := trace.NewRainflow(float64(p.gate), cycles.Add)
		watchers = append(watchers, func(b trace.Batch) { counter.Push(b.F) })
		finish = counter.Close
	}
	found, err := p.find(c, args, watchers)
	if err != nil {
		return err
	}
	finish()
	if p.json {
		return writePullsJSON(c.OutOrStdout(), found, cycles)
	}
	return writePulls(c.OutOrStdout(), found, cycles, p.show)
}

func (p *pullsCommand) find(c *cobra.Command, args []string, watchers []func(trace.Batch)) (*analysed, error) {
	if p.stored.dir != "" {
		return p.stored.analyse(c.Context(), p.trace, c.ErrOrStderr(), watchers...)
	}
	return p.trace.analyse(c.Context(), args[0], c.InOrStdin(), watchers...)
}

// check wants one trace, from a file or from the store.
func (p *pullsCommand) check(c *cobra.Command, args []string) error {
	switch {
	case p.stored.dir != "" && len(args) > 0:
		return usagef("%s reads a file or, with --data, the store, not both", c.CommandPath())
	case p.stored.dir == "" && p.stored.used():
		return usagef("--cell, --from and --to choose from a store: add --data DIR")
	case p.gate > 0 && !p.cycles:
		return usagef("--gate is for load cycles: add --cycles")
	case p.stored.dir == "":
		return oneTrace(c, args)
	}
	return nil
}

// oneTrace wants exactly one trace.
func oneTrace(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants one trace, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	}
	return nil
}
