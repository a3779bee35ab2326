package pull_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
)

func TestSameMoment(t *testing.T) {
	t.Parallel()
	at := func(from, to int64) pull.Pull { return pull.Pull{Start: from, End: to} }
	for name, c := range map[string]struct {
		p     pull.Pull
		among []pull.Pull
		want  int
	}{
		"nothing there":             {at(10, 20), nil, -1},
		"before and after":          {at(10, 20), []pull.Pull{at(0, 10), at(20, 30)}, -1},
		"the longer overlap":        {at(10, 20), []pull.Pull{at(5, 12), at(13, 40)}, 1},
		"one that is all within":    {at(10, 20), []pull.Pull{at(0, 9), at(12, 13)}, 1},
		"the first of two alike":    {at(10, 20), []pull.Pull{at(10, 15), at(15, 20)}, 0},
		"one around it, and within": {at(10, 20), []pull.Pull{at(0, 100), at(11, 19)}, 0},
	} {
		assert.Equal(t, c.want, pull.SameMoment(c.p, c.among), name)
	}
}

// What is found overlaps, nothing overlaps for longer, and a clock that is set
// otherwise for both cells changes nothing.
func TestSameMomentIsTheLongestOverlap(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) pull.Pull {
			from := rapid.Int64Range(0, 50).Draw(t, name)
			return pull.Pull{Start: from, End: from + rapid.Int64Range(1, 30).Draw(t, name+" long")}
		}
		p, among := draw("p"), []pull.Pull{}
		for range rapid.IntRange(0, 5).Draw(t, "others") {
			among = append(among, draw("other"))
		}
		overlap := func(q pull.Pull) (n int) {
			for at := p.Start; at < p.End; at++ {
				if at >= q.Start && at < q.End {
					n++
				}
			}
			return n
		}
		i, most := pull.SameMoment(p, among), 0
		if i >= 0 {
			most = overlap(among[i])
			assert.Positive(t, most)
		}
		for _, q := range among {
			assert.LessOrEqual(t, overlap(q), most)
		}
		later := func(q pull.Pull) pull.Pull { return pull.Pull{Start: q.Start + 1e9, End: q.End + 1e9} }
		for j := range among {
			among[j] = later(among[j])
		}
		assert.Equal(t, i, pull.SameMoment(later(p), among))
	})
}
