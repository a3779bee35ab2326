package pull

import "tautlog/analysis/trace"

// sieve runs the zero-phase filter over a pull as it comes. The forward pass
// is carried on; the backward pass runs over a stretch at a time, begun so
// far behind it that how it began no longer shows.
type sieve struct {
	c       trace.CFC
	rate    float64
	on      bool
	begun   bool
	pass    trace.Pass
	settle  int
	chunk   int
	forward []float64 // forward pass, not yet run backward
	back    []float64
}

// newSieve makes the filter for readings every step nanoseconds; it lets
// nothing through where the rate allows no filter.
func newSieve(step float64) sieve {
	if !(step > 0) {
		return sieve{}
	}
	rate := 1e9 / step
	c, ok := trace.NewCFC(trace.DefaultClass, rate)
	if !ok {
		return sieve{}
	}
	settle := min(c.Settle(), windowStep/4)
	return sieve{c: c, rate: rate, on: true, settle: settle, chunk: 2 * settle}
}

// begin starts a stretch. Before holds the samples just before
// it, lead those from it on as far as they are known: where there are none
// before, the mirror image of lead about its first sample takes their place.
func (s *sieve) begin(before, lead []float64) {
	if !s.on {
		return
	}
	s.begun = true
	s.forward = s.forward[:0]
	if len(before) > 0 {
		before = before[max(0, len(before)-s.settle):]
		s.pass = s.c.At(before[0])
		for _, v := range before {
			s.pass.Next(v)
		}
		return
	}
	n := min(s.settle, len(lead)-1)
	if n < 1 {
		s.begun = false
		return
	}
	s.pass = s.c.At(2*lead[0] - lead[n])
	for k := n; k > 0; k-- {
		s.pass.Next(2*lead[0] - lead[k])
	}
}

// push takes a sample and counts what has come through into t.
func (s *sieve) push(v float64, t *tally) {
	if !s.on {
		return
	}
	if !s.begun {
		s.begun, s.pass = true, s.c.At(v)
		s.forward = s.forward[:0]
	}
	s.forward = append(s.forward, s.pass.Next(v))
	if len(s.forward) < s.chunk+s.settle {
		return
	}
	s.back = append(s.back[:0], s.forward...)
	s.c.Back(s.back)
	t.filtered(s.back[:s.chunk], s.rate)
	s.forward = s.forward[:copy(s.forward, s.forward[s.chunk:])]
}

// drain counts what is still inside into t, as if the stretch ended here, and
// leaves the sieve as it was. Tail holds the last samples of the stretch;
// their mirror image about the last one continues it.
func (s *sieve) drain(tail []float64, t *tally) {
	if !s.on || !s.begun || len(s.forward) == 0 {
		return
	}
	y := append([]float64(nil), s.forward...)
	pass, n := s.pass, len(tail)-1
	for k := 1; k <= min(s.settle, n); k++ {
		y = append(y, pass.Next(2*tail[n]-tail[n-k]))
	}
	s.c.Back(y)
	t.filtered(y[:len(s.forward)], s.rate)
}

// stop ends a stretch: what follows is behind a gap.
func (s *sieve) stop(tail []float64, t *tally) {
	s.drain(tail, t)
	s.begun = false
	t.lastKnown = false
}
