package rehearse

import "time"

// After makes a script that leaves the line slack until ready says so, and
// begins then, however long that takes; what it says is asked some five times a
// second. It is for one generator, because it does not give the same answer every
// time.
func After(ready func() bool, s Script) Script {
	const slack = 200 * time.Millisecond
	line := Steady{Level: 1, Ramp: 0.05, Work: 0.1, Release: 0.05} // a newton is nothing to pull with
	begun := -1
	return func(n int) (Pull, bool) {
		waited := time.Duration(n) * slack
		if begun < 0 && !ready() {
			return Pull{At: waited, Shape: line}, true
		}
		if begun < 0 {
			begun = n
		}
		p, more := s(n - begun)
		p.At += time.Duration(begun) * slack
		return p, more
	}
}
