// Package pull finds the pulls in a force trace and measures them: peak with
// its interval, rise, impulse, kind. One Finder serves a live line and a
// file: for any split of the same samples it finds the same pulls.
package pull

import (
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// Kind is what a pull was, judged from the trace alone.
type Kind string

// The kinds of pull.
const (
	Kinetic Kind = "kinetic"
	Steady  Kind = "steady"
	Proof   Kind = "proof"
)

// Config says what is known of the cell before any sample is seen. The zero
// value is usable: what is unknown is learnt from the trace or said to be
// unknown.
type Config struct {
	Capacity    unit.Force // rated capacity of the cell; 0 unknown
	FullScale   unit.Force // largest reading of the whole trace, where Capacity is unknown
	Floor       unit.Force // the user's floor for the start threshold; 0 none
	Resolution  unit.Force // force of one count; 0 unknown
	Relative95  float64    // calibration: half width of the 95 % interval, as a fraction; 0 unknown
	LagSeconds  float64    // first-order time constant of the amplifier; 0 unknown
	NominalRate float64    // readings a second; 0: from the times
}

// Pull is one pull as found and measured. Times are in nanoseconds on the
// clock of the samples.
type Pull struct {
	Start, End int64
	Kind       Kind
	Peak       unit.Force
	PeakAt     int64
	PeakLow    unit.Force
	PeakHigh   unit.Force
}

// State is what the line is doing now.
type State struct {
	Taut     bool
	Since    int64      // when it became so
	Force    unit.Force // latest reading, zero taken off
	Peak     unit.Force // largest so far of the pull going on; 0 when slack
	Baseline unit.Force // the level that is taken as zero
	Noise    unit.Force // standard deviation of the quiet line
}

// Finder finds pulls in samples pushed to it, in bounded memory.
type Finder struct{}

// NewFinder makes a Finder for one cell.
func NewFinder(Config) *Finder { return &Finder{} }

// Push takes the next samples and returns the pulls that they completed.
func (f *Finder) Push(trace.Batch) []Pull { return nil }

// Current measures the pull going on, as far as it has come. It is for a
// first result within a second of the line going slack, while a rebound may
// still follow.
func (f *Finder) Current() (Pull, bool) { return Pull{}, false }

// State says what the line is doing.
func (f *Finder) State() State { return State{} }

// Close ends the trace and returns the pull that was still going on, if any.
func (f *Finder) Close() []Pull { return nil }

// Record is a pull in the form that leaves the program as JSON. Times are in
// seconds from the origin of the trace.
type Record struct {
	Start     float64  `json:"start_s"`
	End       float64  `json:"end_s"`
	Kind      Kind     `json:"kind"`
	Peak      float64  `json:"peak_N"`
	PeakAt    float64  `json:"peak_at_s"`
	PeakLow   float64  `json:"peak_low_N"`
	PeakHigh  float64  `json:"peak_high_N"`
	RiseTime  float64  `json:"rise_time_s"`
	RiseRate  float64  `json:"rise_rate_N_per_s"`
	MaxRise   float64  `json:"max_rise_rate_N_per_s"`
	ToPeak    float64  `json:"impulse_to_peak_N_s"`
	Impulse   float64  `json:"impulse_N_s"`
	AboveHalf float64  `json:"above_half_s"`
	Steady    *float64 `json:"steady_N"`
	Rebound   *float64 `json:"rebound_hz"`
	Damping   *float64 `json:"damping_ratio"`
	Flags     []string `json:"flags"`
}

// Record gives the pull in the form that leaves the program, its times
// counted from origin.
func (p Pull) Record(origin int64) Record { return Record{} }
