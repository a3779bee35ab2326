package main

import (
	"math/bits"

	"tautlog/analysis/trace"
)

// gapFactor is how many times the usual interval one has to last to count as
// a gap. One missing reading doubles an interval; the times that a logger
// rounds stay below.
const gapFactor = 1.75

// summary says how long a trace is and how evenly it was sampled. The zero
// value is that of an empty trace. It takes the same memory for any length,
// and does not depend on how the samples were split into batches.
type summary struct {
	Samples     int64
	First, Last int64 // times of the first and the last sample

	count [steps]int64 // intervals by their length, in steps of 1/128
	total [steps]int64 // nanoseconds in them
}

// An interval below 256 ns has a step of its own; above that the eight leading
// bits tell the step.
const steps = 256 + (64-8)*128

func step(interval int64) int {
	n := bits.Len64(uint64(interval))
	if n <= 8 {
		return int(interval)
	}
	return 256 + (n-9)*128 + int(interval>>(n-8))&127
}

// Add takes the next samples.
func (s *summary) Add(b trace.Batch) {
	if b.Len() == 0 {
		return
	}
	last := s.Last
	if s.Samples == 0 {
		s.First, last = b.T[0], b.T[0]
	} else {
		s.note(b.T[0] - last)
		last = b.T[0]
	}
	for _, t := range b.T[1:] {
		s.note(t - last)
		last = t
	}
	s.Last = last
	s.Samples += int64(b.Len())
}

func (s *summary) note(interval int64) {
	i := step(interval)
	s.count[i]++
	s.total[i] += interval
}

// Duration is the time from the first sample to the last, in seconds.
func (s *summary) Duration() float64 { return float64(s.Last-s.First) / 1e9 }

// Interval is the usual time from one sample to the next, in nanoseconds: the
// mean of the intervals within 1 % of the median. It is 0 where there are
// less than two samples.
func (s *summary) Interval() float64 {
	rank := s.Samples / 2
	for i, n := range s.count {
		if rank -= n; rank <= 0 && n > 0 {
			return float64(s.total[i]) / float64(n)
		}
	}
	return 0
}

// Rate is the usual number of samples a second, gaps left out of account; 0
// where there are less than two samples.
func (s *summary) Rate() float64 {
	interval := s.Interval()
	if interval == 0 {
		return 0
	}
	return 1e9 / interval
}

// Gaps counts the intervals that are longer than gapFactor times the usual
// one, to within 1 %.
func (s *summary) Gaps() int64 {
	interval := s.Interval()
	if interval == 0 {
		return 0
	}
	var gaps int64
	for _, n := range s.count[step(int64(gapFactor*interval))+1:] {
		gaps += n
	}
	return gaps
}
