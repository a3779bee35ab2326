package shock

import (
	"math"
	"math/rand/v2"
)

// byDay puts pulls of one day together, the days in the order of their first
// pull.
func byDay(pulls []Pull) (days [][]Pull) {
	number := index[string]{}
	for _, p := range pulls {
		if i := number.of(p.Day); i == len(days) {
			days = append(days, []Pull{p})
		} else {
			days[i] = append(days[i], p)
		}
	}
	return days
}

// drawAgain fits days that are drawn with replacement from those there were:
// what might as well have been logged. The draws are the same each time.
func drawAgain(days [][]Pull, best tried) (all []tried) {
	random := rand.New(rand.NewPCG(0x73686f636b, uint64(len(days))))
	// A drawn set has less spread than what it is drawn from, by this much.
	widen := math.Sqrt(float64(len(days)) / float64(len(days)-1))
	for range draws {
		var pulls []Pull
		for range days {
			pulls = append(pulls, days[random.IntN(len(days))]...)
		}
		u := unknownsOf(pulls)
		if t, ok := u.try(pulls, u.start(best)); ok {
			t.spread *= widen
			all = append(all, t)
		}
	}
	return all
}
