package pull

import "slices"

// Attempt says which of several tries to free one stuck vehicle a pull was.
type Attempt struct {
	Bogging int // counted from 1; 0 for a proof pull, which frees nobody
	N       int // which attempt at that bogging, from 1
	Of      int // how many there were
}

// SameBogging is the time in seconds within which a pull that follows another
// is taken for a further attempt at the same bogging. Common practice, no
// source: people look at the gear and try again, or move on.
const SameBogging = 300.0

// Attempts tells, for pulls in the order of their times, which belong to one
// bogging: each began within so many seconds of the end of the one before it. One that may
// be a rebound is no attempt of its own, and has the number of the one before it.
func Attempts(pulls []Pull, within float64) []Attempt {
	all := make([]Attempt, len(pulls))
	var last *Pull
	bogging, first, n := 0, 0, 0
	for i := range pulls {
		p := &pulls[i]
		if p.Kind == Proof {
			continue
		}
		if last != nil && slices.Contains(p.Flags, FlagLate) {
			all[i], last = Attempt{Bogging: bogging, N: n, Of: n}, p
			continue
		}
		if last == nil || float64(p.Start-last.End)/1e9 > within {
			bogging, first, n = bogging+1, i, 0
		}
		n++
		all[i] = Attempt{Bogging: bogging, N: n}
		for k := first; k <= i; k++ {
			if all[k].Bogging == bogging {
				all[k].Of = n
			}
		}
		last = p
	}
	return all
}
