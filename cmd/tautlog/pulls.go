package main

import (
	"errors"

	"github.com/spf13/cobra"

	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// pullsCommand is what was asked of "tautlog pulls".
type pullsCommand struct {
	trace     traceFlags
	stored    storedFlags
	archived  archivedFlags
	each      eachFlag
	cycles    cyclesFlags
	compare   compareFlags
	histogram unit.Force
	json      bool
	show      unit.ForceUnit
}

// newPulls is the command that finds and measures the pulls of a trace.
func newPulls() *cobra.Command {
	p := pullsCommand{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "pulls TRACE.csv … | --data DIR | --archive FILE [--cell NAME] [--from TIME] [--to TIME]",
		Short: "Find and measure the pulls of a trace",
		Example: `  tautlog pulls TRACE.csv
  tautlog pulls --data DIR --from 2026-05-17 --json`,
		Long: `Finds the pulls in a trace of force over time and measures each: the peak with
the interval in which the true peak lies, the rise, the impulse, the kind.

TRACE.csv is a CSV file with a header, a time column and a force column, plain
or packed with gzip or zstd; "-" is standard input. With --data the trace is
what the store has recorded, with --archive what an InfluxDB server has of it. Unless --capacity is given, the trace is read
twice, and standard input is kept in a temporary file meanwhile. Several files
are analysed side by side, each for itself; --json then prints one document with
a list "traces", each with its "file". So are, with --each, the cells and the days
(from midnight to midnight, local time) of a store, each with its "cell" and
"day"; a pull over midnight is then told in two parts.

With --cycles the load cycles of the whole trace are counted by the rainflow
method, in the order in which they close; those left open at the end come last,
as halves. --count reservoir counts whole cycles instead, as if the trace were
repeated.

With --histogram the time that the force stood in each class of load is added
up. With --compare the pulls of those numbers are compared with the first of
them, aligned where the load begins or at the peak.

Pulls are found anew from the trace. With --data, one whose start and end a person
has set with "pulls limits" or on its page is measured between those, and flagged
so, as is one that a person parted, joined or added; what is set aside is left out. A
file and an archive know of none of this.`,
		RunE: p.run,
	}
	p.trace.add(c)
	p.stored.add(c)
	p.archived.add(c.Flags())
	p.each.add(c)
	p.cycles.add(c)
	p.compare.add(c)
	f := c.Flags()
	f.BoolVar(&p.json, "json", false, "print one JSON document")
	f.Var(forceFlag{&p.histogram}, "histogram", "`force`: width of the classes of load of which the time is added up, such as 5kN")
	f.Var(unitFlag{&p.show}, "show", "`unit` of the forces that are printed for people: N, kN, kgf, lbf or t")
	c.AddCommand(newPullsLimits())
	c.AddCommand(newPullsReview()...)
	return c
}

func (p *pullsCommand) run(c *cobra.Command, args []string) error {
	if err := p.check(c, args); err != nil {
		return err
	}
	switch {
	case len(args) > 1:
		return p.runFiles(c, args)
	case len(p.each.parts) > 0:
		return p.runEach(c)
	}
	s, err := p.open(c, args)
	if err != nil {
		return err
	}
	defer s.close()
	t, err := p.tell(s)
	if err != nil {
		return err
	}
	defer t.close()
	if p.json {
		return writePullsJSON(c.OutOrStdout(), t)
	}
	return writePulls(c.OutOrStdout(), t, p.show)
}

func (p *pullsCommand) open(c *cobra.Command, args []string) (*source, error) {
	switch {
	case p.stored.dir != "":
		return p.stored.open(c.Context(), p.trace, c.ErrOrStderr())
	case p.archived.used():
		return p.archived.open(c.Context(), &p.stored, p.trace, c.ErrOrStderr())
	}
	return p.trace.open(c.Context(), args[0], c.InOrStdin())
}

// told is what is told of one trace.
type told struct {
	*survey.Found
	which                        // one, where there are several
	cycles     *tracefile.Cycles // nil where they were not asked for
	histogram  *trace.LoadTime
	comparison *overlaid
}

func (t *told) close() error {
	if t.cycles == nil {
		return nil
	}
	return t.cycles.Close()
}

// tell analyses a source in all ways that were asked for.
func (p *pullsCommand) tell(s *source) (_ *told, err error) {
	t := &told{}
	defer func() {
		if err != nil {
			err = errors.Join(err, t.close())
		}
	}()
	watch, finish := p.counted(t, s.Config.NominalRate)
	if t.Found, err = s.Find(watch...); err != nil {
		return nil, err
	}
	finish()
	if len(p.compare.numbers) > 0 {
		t.comparison, err = p.compare.made(t.Pulls, s)
	}
	return t, err
}

// counted gives what counts load cycles and the time under load into t, where
// that was asked for, and what ends it.
func (p *pullsCommand) counted(t *told, rate float64) (watch []func(trace.Batch), finish func()) {
	if !p.cycles.wanted && p.histogram == 0 {
		return nil, func() {}
	}
	cycles, end := func([]float64) {}, func() {}
	if p.cycles.wanted {
		t.cycles = &tracefile.Cycles{}
		cycles, end = p.cycles.counter(t.cycles.Add)
	}
	if p.histogram > 0 {
		t.histogram = trace.NewLoadTime(float64(p.histogram), rate)
	}
	count := func(b trace.Batch) {
		cycles(b.F)
		if t.histogram != nil {
			t.histogram.Push(b)
		}
	}
	if !p.cycles.calm {
		return []func(trace.Batch){count}, end
	}
	calm := trace.NewCalmer(count)
	return []func(trace.Batch){calm.Push}, func() { calm.Close(); end() }
}

// check wants one trace or several files, or the store.
func (p *pullsCommand) check(c *cobra.Command, args []string) error {
	kept := p.stored.dir != "" || p.archived.used()
	switch {
	case kept && len(args) > 0:
		return usagef("%s reads a file or, with --data, the store or, with --archive, an archive, not both", c.CommandPath())
	case p.stored.dir != "" && p.archived.used():
		return usagef("%s reads the store or an archive: leave out --data or --archive", c.CommandPath())
	case !kept && p.stored.used():
		return usagef("--cell, --from and --to choose from a store or an archive: add --data DIR or --archive FILE")
	case !p.archived.used() && p.archived.station != "":
		return usagef("--station chooses from an archive: add --archive FILE")
	case !kept && len(args) == 0:
		return oneTrace(c, args)
	case len(args) > 1 && len(p.compare.numbers) > 0:
		return usagef("--compare is for the pulls of one trace, not of %d", len(args))
	case len(p.each.parts) > 0 && len(p.compare.numbers) > 0:
		return usagef("--compare is for the pulls of one trace: leave out --each")
	}
	return errors.Join(p.each.check(&p.stored), p.cycles.check(), p.compare.check(c))
}

// oneTrace wants exactly one trace.
func oneTrace(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants one trace, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	}
	return nil
}
