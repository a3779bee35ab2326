// Package survey reads a trace from its beginning to its end, as often as it
// takes, and tells what is in it: its pulls, its spikes, how its zero went and
// how it was sampled. A trace may be a file, what a store holds, or what an
// archive gives; it is never in memory as a whole.
package survey

import (
	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// Found is what a trace tells.
type Found struct {
	trace.Summary
	First  int64 // time of the first sample, the origin of all that is said
	Pulls  []pull.Pull
	Spikes []pull.Spike
	Zero   pull.ZeroCourse
}

// Samples is a trace that can be read from its beginning, batch by batch.
type Samples func(yield func(trace.Batch) error) error

// Largest is the largest force of a trace, in a pass of its own; 0 where none is
// above that.
func (each Samples) Largest() (unit.Force, error) {
	most := 0.0
	err := each(func(b trace.Batch) error {
		for i, f := range b.F {
			if b.Marks == nil || b.Marks[i]&trace.Invalid == 0 {
				most = max(most, f)
			}
		}
		return nil
	})
	return unit.Force(most), err
}

// Source is a trace that is open, with what is known of its cell.
type Source struct {
	Config  pull.Config
	Largest func() (unit.Force, error) // of its readings, in a pass of its own
	Each    Samples
	Nothing func() error // why there are no readings; nil: that is no fault

	// AsSet puts pulls whose limits a person has set in the place of those that
	// were found there; nil: nobody can have.
	AsSet func(pull.Config, []pull.Pull) ([]pull.Pull, error)
}

// Find finds the pulls. Every batch also goes to the watchers.
func (s *Source) Find(watchers ...func(trace.Batch)) (found *Found, err error) {
	if s.Config.Capacity == 0 {
		if s.Config.FullScale, err = s.Largest(); err != nil {
			return nil, err
		}
	}
	found, err = Find(s.Config, s.Each, watchers...)
	if err == nil && found.Samples == 0 && s.Nothing != nil {
		return nil, s.Nothing()
	}
	if err == nil && s.AsSet != nil {
		found.Pulls, err = s.AsSet(s.Config, found.Pulls)
	}
	return found, err
}

// Find runs the samples through a Finder. Where only the largest reading told
// how large the cell is, and that was an electrical spike, it looks again
// without it.
func Find(config pull.Config, each Samples, watchers ...func(trace.Batch)) (*Found, error) {
	found, largest, err := findOnce(config, each, watchers...)
	for err == nil && config.Capacity == 0 && largest < config.FullScale*4/5 && len(found.Spikes) > 0 {
		config.FullScale = largest
		found, largest, err = findOnce(config, each)
	}
	return found, err
}

// findOnce also gives the largest force that is no spike.
func findOnce(config pull.Config, each Samples, watchers ...func(trace.Batch)) (*Found, unit.Force, error) {
	found := &Found{}
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
