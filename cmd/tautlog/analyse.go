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

// analysed is what a trace tells.
type analysed struct {
	trace.Summary
	First  int64 // time of the first sample, the origin of all that is said
	Pulls  []pull.Pull
	Spikes []pull.Spike
	Zero   pull.ZeroCourse
}

// samples is a trace that can be read from its beginning, batch by batch.
type samples func(yield func(trace.Batch) error) error

// source is a trace that is open, with what is known of its cell.
type source struct {
	config  pull.Config
	largest func() (unit.Force, error) // of its readings, in a pass of its own
	each    samples
	nothing func() error // why there are no readings; nil: that is no fault

	// asSet puts pulls whose limits a person has set in the place of those that
	// were found there; nil: nobody can have.
	asSet func(pull.Config, []pull.Pull) ([]pull.Pull, error)

	close func() error
}

// open opens the trace at path ("-" is stdin).
func (t *traceFlags) open(ctx context.Context, path string, stdin io.Reader) (*source, error) {
	file, err := tracefile.Open(path, stdin, t.columns)
	if err != nil {
		return nil, err
	}
	return &source{
		config:  pull.Config{Capacity: t.capacity, Floor: t.floor},
		largest: func() (unit.Force, error) { return file.Largest(ctx) },
		each:    func(yield func(trace.Batch) error) error { return file.Each(ctx, yield) },
		close:   file.Close,
	}, nil
}

// analyse reads the trace at path and finds its pulls.
func (t *traceFlags) analyse(ctx context.Context, path string, stdin io.Reader) (*analysed, error) {
	s, err := t.open(ctx, path, stdin)
	if err != nil {
		return nil, err
	}
	defer s.close()
	return s.analyse()
}

// analyse finds the pulls. Every batch also goes to the watchers.
func (s *source) analyse(watchers ...func(trace.Batch)) (found *analysed, err error) {
	if s.config.Capacity == 0 {
		if s.config.FullScale, err = s.largest(); err != nil {
			return nil, err
		}
	}
	found, err = find(s.config, s.each, watchers...)
	if err == nil && found.Samples == 0 && s.nothing != nil {
		return nil, s.nothing()
	}
	if err == nil && s.asSet != nil {
		found.Pulls, err = s.asSet(s.config, found.Pulls)
	}
	return found, err
}

// find runs the samples through a Finder. Where only the largest reading told
// how large the cell is, and that was an electrical spike, it looks again
// without it.
func find(config pull.Config, each samples, watchers ...func(trace.Batch)) (*analysed, error) {
	found, largest, err := findOnce(config, each, watchers...)
	for err == nil && config.Capacity == 0 && largest < config.FullScale*4/5 && len(found.Spikes) > 0 {
		config.FullScale = largest
		found, largest, err = findOnce(config, each)
	}
	return found, err
}

// findOnce also gives the largest force that is no spike.
func findOnce(config pull.Config, each samples, watchers ...func(trace.Batch)) (*analysed, unit.Force, error) {
	found := &analysed{}
	finder := pull.NewFinder(config)
	meter := trace.NewMeter(config.NominalRate)
	watch, end := beside(append(watchers, meter.Push))
	begun := false
	err := each(func(b trace.Batch) error {
		if !begun && b.Len() > 0 {
			begun, found.First = true, b.T[0]
		}
		watched := watch(b)
		found.Pulls = append(found.Pulls, finder.Push(b)...)
		found.Spikes = append(found.Spikes, finder.Spikes()...)
		<-watched
		return nil
	})
	end()
	if err != nil {
		return nil, 0, err
	}
	found.Pulls = append(found.Pulls, finder.Close()...)
	found.Spikes = append(found.Spikes, finder.Spikes()...)
	found.Summary, found.Zero = meter.Summary(), finder.Zero()
	return found, finder.Largest(), nil
}
