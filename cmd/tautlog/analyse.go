package main

import (
	"context"
	"io"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/analysis/pull"
	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// traceFlags are the flags of every command that analyses a trace file.
type traceFlags struct {
	columns  tracefile.Options
	capacity unit.Force
	floor    unit.Force
}

// add defines the flags on a command.
func (t *traceFlags) add(c *cobra.Command) {
	f := c.Flags()
	t.addColumns(f)
	f.Var(forceFlag{&t.capacity}, "capacity", "rated `force` of the cell, such as 100kN; unknown: the largest reading, found in a pass of its own")
	f.Var(forceFlag{&t.floor}, "floor", "`force` above the quiet line below which no pull begins, such as 500N")
}

// addColumns defines the flags that say how to read the file.
func (t *traceFlags) addColumns(f *pflag.FlagSet) {
	f.StringVar(&t.columns.TimeColumn, "time-column", "", "`name` of the time column; otherwise t_s, time_s or time")
	f.StringVar(&t.columns.ForceColumn, "force-column", "", "`name` of the force column; otherwise force_N, force_kN, force_kgf, force_lbf or force_t")
	f.Var(unitFlag{&t.columns.Unit}, "unit", "`unit` of the force column, where its name does not say it: N, kN, kgf, lbf or t")
	f.BoolVar(&t.columns.DecimalComma, "decimal-comma", false, "numbers are written with a decimal comma")
}

// source is a trace that is open, until it is closed.
type source struct {
	survey.Source
	close func() error
}

// open opens the trace at path ("-" is stdin).
func (t *traceFlags) open(ctx context.Context, path string, stdin io.Reader) (*source, error) {
	file, err := tracefile.Open(path, stdin, t.columns)
	if err != nil {
		return nil, err
	}
	return &source{survey.Source{
		Config:  pull.Config{Capacity: t.capacity, Floor: t.floor},
		Largest: func() (unit.Force, error) { return file.Largest(ctx) },
		Each:    func(yield func(trace.Batch) error) error { return file.Each(ctx, yield) },
	}, file.Close}, nil
}

// analyse reads the trace at path and finds its pulls.
func (t *traceFlags) analyse(ctx context.Context, path string, stdin io.Reader) (*survey.Found, error) {
	s, err := t.open(ctx, path, stdin)
	if err != nil {
		return nil, err
	}
	defer s.close()
	return s.Find()
}
