package shock_test

import (
	"errors"
	"flag"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

var clubs = flag.Int("clubs", 0, "how many simulated clubs TestClubs fits; otherwise a few")

// club is a made-up club with what is true of it.
type club struct {
	pulls   []shock.Pull
	level   map[shock.Class]float64 // true logarithm of the median
	single  map[shock.Class]float64 // true spread of single pulls
	day     float64                 // true spread of days
	classes float64                 // true spread of the levels
	truth   []float64               // true logarithms of the factors
	days    int
	unlike  bool               // the classes differ in spread
	effects map[string]float64 // true effects of the days
}

// total is the true spread of pulls of a class, on whatever day.
func (c club) total(k shock.Class) float64 { return math.Hypot(c.day, c.single[k]) }

func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// newClub makes about a hundred pulls of three to eight unequal classes on
// four to sixteen days. In every second club, the classes differ in spread. A
// part of the peaks is under-sampled: the reading lies below the truth by a part
// of what the interval allows.
func newClub(r *rand.Rand) club {
	c := club{
		level: map[shock.Class]float64{}, single: map[shock.Class]float64{},
		day: uniform(r, 0.03, 0.2), classes: uniform(r, 0.1, 0.45), effects: map[string]float64{},
	}
	spread, unlike := uniform(r, 0.12, 0.3), 0.25*float64(r.IntN(2))
	var all []shock.Class
	share := []float64{}
	for i := range 3 + r.IntN(6) {
		k := shock.Class{Kind: pull.Kinetic, Ground: fmt.Sprint("ground ", i%4), Strap: fmt.Sprint("strap ", i/4)}
		c.level[k] = math.Log(1.2) + c.classes*r.NormFloat64()
		c.single[k] = spread * math.Exp(unlike*r.NormFloat64())
		all = append(all, k)
		share = append(share, r.ExpFloat64()+0.05)
	}
	days := make([]float64, 4+r.IntN(13))
	c.days, c.unlike = len(days), unlike > 0
	for i := range days {
		days[i] = c.day * r.NormFloat64()
		c.effects[fmt.Sprint(i)] = days[i]
	}
	blurred := uniform(r, 0, 0.5)
	for range 60 + r.IntN(80) {
		k, d := all[pick(r, share)], r.IntN(len(days))
		kg := uniform(r, 1500, 6000)
		truth := unit.Force(kg * unit.StandardGravity * math.Exp(c.level[k]+days[d]+c.single[k]*r.NormFloat64()))
		p := shock.Pull{Day: fmt.Sprint(d), Class: k, Peak: truth, Low: truth, High: truth, Reference: unit.Mass(kg)}
		if r.Float64() < blurred {
			hidden := uniform(r, 0.02, 0.35)
			p.Peak = truth * unit.Force(1-hidden*r.Float64())
			p.Low, p.High = p.Peak, p.Peak/unit.Force(1-hidden)
			p.Flags = []string{pull.FlagSampling}
		}
		c.pulls, c.truth = append(c.pulls, p), append(c.truth, math.Log(float64(truth)/(kg*unit.StandardGravity)))
	}
	return c
}

func pick(r *rand.Rand, share []float64) int {
	total := 0.0
	for _, s := range share {
		total += s
	}
	x := total * r.Float64()
	for i, s := range share {
		if x -= s; x < 0 {
			return i
		}
	}
	return len(share) - 1
}

const z95 = 1.6448536269514722

// TestClubs fits clubs of which the truth is known. The long version, of which
// testdata/shock/clubs.txt is the outcome, is
//
//	go test ./analysis/shock -run TestClubs -clubs 2000 -v
func TestClubs(t *testing.T) {
	t.Parallel()
	n := 150
	if *clubs > 0 {
		n = *clubs
	}
	var all tally
	parts := strata{}
	for i := range n {
		c := newClub(rand.New(rand.NewPCG(2000, uint64(i))))
		set := shock.Fit(c.pulls)
		known, widest := c.known(), c.widest()
		for _, f := range set.Classes {
			if f.Upper == nil {
				continue
			}
			true95 := math.Exp(c.level[f.Class] + z95*c.total(f.Class))
			all.add(*f.Upper, true95, known[f.Class])
			for _, part := range c.parts(f, widest) {
				parts.of(part).add(*f.Upper, true95, known[f.Class])
			}
			// An assumption that is a little or much too low or too high.
			for _, off := range []float64{0.7, 0.85, 0.95, 0.999, 1.001, 1.05, 1.2, 1.5} {
				all.ask(set.Check(off*true95, func(k shock.Class) bool { return k == f.Class }), off)
			}
		}
		for _, f := range shock.Fit(withoutIntervals(c.pulls)).Classes {
			if f.Upper != nil {
				true95 := math.Exp(c.level[f.Class] + z95*c.total(f.Class))
				parts.of("flagged, no intervals given").add(*f.Upper, true95, known[f.Class])
			}
		}
	}
	t.Logf("%d clubs: %s\n%s", n, &all, parts)

	assert.InDelta(t, 0.95, all.held(), 0.02+scatter(n))
	blind := parts["flagged, no intervals given"]
	assert.InDelta(t, 0.95, blind.held(), 0.02+scatter(n))
	assert.LessOrEqual(t, all.median(), 1.3)
	assert.LessOrEqual(t, blind.median(), 1.3)
	assert.LessOrEqual(t, all.wrong(), 0.05)
}

// scatter is what a few clubs scatter more than 2,000: two standard deviations
// of a binomial count of clubs, since the classes of one go together.
func scatter(clubs int) float64 {
	if clubs >= 1000 {
		return 0
	}
	return 2 * math.Sqrt(0.95*0.05/float64(clubs))
}

// strata are the tallies of parts of all bounds, by name.
type strata map[string]*tally

func (s strata) of(name string) *tally {
	if s[name] == nil {
		s[name] = &tally{}
	}
	return s[name]
}

func (s strata) String() string {
	var lines []string
	for _, name := range slices.Sorted(maps.Keys(s)) {
		lines = append(lines, fmt.Sprintf("%-42s %s", name, s[name]))
	}
	return strings.Join(lines, "\n")
}

// parts are the strata to which a class belongs.
func (c club) parts(f shock.ClassFit, widest shock.Class) []string {
	size := "pulls: 20 and more"
	switch {
	case f.Pulls < shock.FewestAlone:
		size = "pulls: 3 or 4"
	case f.Pulls < 10:
		size = "pulls: 5 to 9"
	case f.Pulls < 20:
		size = "pulls: 10 to 19"
	}
	sampled := "under-sampled: less than a third"
	if 3*f.Inexact >= f.Pulls {
		sampled = "under-sampled: a third or more"
	}
	days := "days: 10 and more"
	if c.days < 7 {
		days = "days: 4 to 6"
	} else if c.days < 10 {
		days = "days: 7 to 9"
	}
	all := []string{size, sampled, days}
	if c.unlike {
		all = append(all, "classes that differ in spread: all of them")
	}
	if c.unlike && f.Class == widest {
		all = append(all, "classes that differ in spread: the widest")
		if f.Pulls >= 10 {
			all = append(all, "classes that differ in spread: the widest, of 10 pulls and more")
		}
	}
	return all
}

// widest is the class that truly spreads most.
func (c club) widest() (w shock.Class) {
	for k, s := range c.single {
		if s > c.single[w] {
			w = k
		}
	}
	return w
}

// withoutIntervals are the pulls as they are logged by somebody who notes that
// a peak was under-sampled, but not by how much.
func withoutIntervals(pulls []shock.Pull) []shock.Pull {
	pulls = slices.Clone(pulls)
	for i, p := range pulls {
		if len(p.Flags) > 0 {
			pulls[i].Low, pulls[i].High = 0, 0
		}
	}
	return pulls
}

// tally counts what became of the bounds.
type tally struct {
	bounds, holds  int
	over           []float64 // bound over that of somebody who knows the spreads
	asked, decided [2]int    // assumptions below and above the truth
	errors         [2]int    // supported below, contradicted above
	near           [2][2]int // the same, asked and wrong, at 0.1 % from the truth
}

func (c *tally) add(bound, truth, known float64) {
	c.bounds++
	if bound >= truth {
		c.holds++
	}
	c.over = append(c.over, bound/known)
}

func (c *tally) ask(got shock.Checked, off float64) {
	side, wrong := 0, shock.Supported
	if off > 1 {
		side, wrong = 1, shock.Contradicted
	}
	near := math.Abs(off-1) < 0.01
	c.asked[side]++
	if near {
		c.near[side][0]++
	}
	if got.Answer != shock.NotDecided {
		c.decided[side]++
	}
	if got.Answer == wrong {
		c.errors[side]++
		if near {
			c.near[side][1]++
		}
	}
}

func (c *tally) held() float64 { return float64(c.holds) / float64(c.bounds) }

func (c *tally) median() float64 {
	slices.Sort(c.over)
	return c.over[len(c.over)/2]
}

func (c *tally) wrong() float64 {
	return float64(c.errors[0]+c.errors[1]) / float64(c.asked[0]+c.asked[1])
}

func (c *tally) String() string {
	percent := func(k, n int) float64 { return 100 * float64(k) / float64(max(n, 1)) }
	s := fmt.Sprintf("%d bounds, held %.2f %%; over the bound of one who knows the spreads: median %.3f, 95 %% below %.3f",
		c.bounds, 100*c.held(), c.median(), c.over[len(c.over)*95/100])
	if c.asked[0] > 0 {
		s += fmt.Sprintf("; assumed too low: supported (wrong) %.2f %%, at 0.1 %% too low %.2f %%; not too low: contradicted (wrong) %.2f %%, at the truth %.2f %%; decided %.1f %%",
			percent(c.errors[0], c.asked[0]), percent(c.near[0][1], c.near[0][0]), percent(c.errors[1], c.asked[1]), percent(c.near[1][1], c.near[1][0]),
			percent(c.decided[0]+c.decided[1], c.asked[0]+c.asked[1]))
	}
	return s
}

// known is the bound that somebody would give who knows all spreads and all
// true peaks, but not the levels: solved by the normal equations as a whole.
func (c club) known() map[shock.Class]float64 {
	classes, days := map[shock.Class]int{}, map[string]int{}
	for _, p := range c.pulls {
		if _, ok := classes[p.Class]; !ok {
			classes[p.Class] = len(classes)
		}
		if _, ok := days[p.Day]; !ok {
			days[p.Day] = len(days)
		}
	}
	j, d := len(classes), len(days)
	a, b := mat.NewSymDense(j+d, nil), mat.NewVecDense(j+d, nil)
	plus := func(i, k int, v float64) { a.SetSym(i, k, a.At(i, k)+v) }
	for i := range j {
		plus(i, i, 1/(c.classes*c.classes))
		for k := i; k < j; k++ {
			plus(i, k, -1/(c.classes*c.classes*float64(j)))
		}
	}
	for i := range d {
		plus(j+i, j+i, 1/(c.day*c.day))
	}
	for i, p := range c.pulls {
		k, day := classes[p.Class], j+days[p.Day]
		w := 1 / (c.single[p.Class] * c.single[p.Class])
		plus(k, k, w)
		plus(day, day, w)
		plus(k, day, w)
		b.SetVec(k, b.AtVec(k)+w*c.truth[i])
		b.SetVec(day, b.AtVec(day)+w*c.truth[i])
	}
	var f mat.Cholesky
	if !f.Factorize(a) {
		panic("the equations of a club have no solution")
	}
	var x mat.VecDense
	var v mat.SymDense
	if err := errors.Join(f.SolveVecTo(&x, b), f.InverseTo(&v)); err != nil {
		panic(err)
	}
	bounds := map[shock.Class]float64{}
	for k, i := range classes {
		bounds[k] = math.Exp(x.AtVec(i) + z95*c.total(k) + z95*math.Sqrt(v.At(i, i)))
	}
	return bounds
}

func BenchmarkFit(b *testing.B) {
	c := newClub(rand.New(rand.NewPCG(1, 1)))
	for len(c.pulls) < 100 {
		c = newClub(rand.New(rand.NewPCG(1, uint64(len(c.pulls)))))
	}
	c.pulls = c.pulls[:100]
	b.ReportAllocs()
	for b.Loop() {
		shock.Fit(c.pulls)
	}
}
