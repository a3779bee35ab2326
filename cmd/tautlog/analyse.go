package main

import (
	"context"
	"io"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/analysis/pull"
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
	f.Var(forceFlag{&t.capacity}, "capacity", "rated `force` of the cell, as 100kN; unknown: from the largest reading, in a pass more")
	f.Var(forceFlag{&t.floor}, "floor", "`force` above the quiet line below which no pull begins, as 500N")
}

// addColumns defines the flags that say how to read the file.
func (t *traceFlags) addColumns(f *pflag.FlagSet) {
	f.StringVar(&t.columns.TimeColumn, "time-column", "", "`name` of the time column; otherwise t_s, time_s or time")
	f.StringVar(&t.columns.ForceColumn, "force-column", "", "`name` of the force column; otherwise force_N, force_kN, force_kgf, force_lbf or force_t")
	f.Var(unitFlag{&t.columns.Unit}, "unit", "`unit` of the force column, where its name does not say it: N, kN, kgf, lbf, t")
	f.BoolVar(&t.columns.DecimalComma, "decimal-comma", false, "numbers are written with a decimal comma")
}

// analysed is what a trace tells.
type analysed struct {
	summary
	Pulls []pull.Pull
}

// analyse reads the trace at path ("-" is stdin) and finds its pulls. Every
// batch also goes to the watchers.
func (t *traceFlags) analyse(ctx context.Context, path string, stdin io.Reader, watchers ...func(trace.Batch) error) (found *analysed, err error) {
	file, err := tracefile.Open(path, stdin, t.columns)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	config := pull.Config{Capacity: t.capacity, Floor: t.floor}
	if config.Capacity == 0 {
		if config.FullScale, err = file.Largest(ctx); err != nil {
			return nil, err
		}
	}
	return find(config, func(yield func(trace.Batch) error) error { return file.Each(ctx, yield) }, watchers...)
}

// find runs the samples that each yields through a Finder.
func find(config pull.Config, each func(func(trace.Batch) error) error, watchers ...func(trace.Batch) error) (*analysed, error) {
	found := &analysed{}
	finder := pull.NewFinder(config)
	err := each(func(b trace.Batch) error {
		found.Add(b)
		found.Pulls = append(found.Pulls, finder.Push(b)...)
		for _, watch := range watchers {
			if err := watch(b); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	found.Pulls = append(found.Pulls, finder.Close()...)
	return found, nil
}

// forceFlag is a flag whose value is a positive force with its unit.
type forceFlag struct{ force *unit.Force }

func (f forceFlag) Set(s string) error {
	v, err := unit.ParseForce(s)
	if err != nil {
		return err
	}
	if v < 0 {
		return usagef("%q is below zero", s)
	}
	*f.force = v
	return nil
}

func (f forceFlag) String() string {
	if f.force == nil || *f.force == 0 {
		return ""
	}
	return f.force.String()
}

func (f forceFlag) Type() string { return "force" }

// unitFlag is a flag whose value is a unit of force.
type unitFlag struct{ unit *unit.ForceUnit }

func (u unitFlag) Set(s string) (err error) { *u.unit, err = unit.ParseForceUnit(s); return err }
func (u unitFlag) String() string {
	if u.unit == nil {
		return ""
	}
	return string(*u.unit)
}
func (u unitFlag) Type() string { return "unit" }
