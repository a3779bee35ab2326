// Package pull finds the pulls in a force trace and measures them: peak with
// its interval, rise, impulse, kind. One Finder serves a live line and a
// file: for any split of the same samples it finds the same pulls.
package pull

import "tautlog/analysis/trace"

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
