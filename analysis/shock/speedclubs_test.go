package shock_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// design is how the pulls of a made-up club with speeds are laid out.
type design struct {
	name            string
	pulls           int
	days            [2]int // fewest and most
	straps, grounds int
	unequal         bool    // most pulls on few of the days, with few of the straps
	blurred         float64 // share of peaks that are under-sampled
	over            float64 // share of peaks that are only lower bounds
	still           bool    // the last ground holds whatever comes
}

func designs() []design {
	return []design{
		{name: "two straps, two grounds, 10 days", pulls: 60, days: [2]int{10, 10}, straps: 2, grounds: 2},
		{name: "5 or 6 days", pulls: 60, days: [2]int{5, 6}, straps: 2, grounds: 2},
		{name: "few pulls on 5 to 8 days", pulls: 20, days: [2]int{5, 8}, straps: 2, grounds: 2},
		{name: "many days", pulls: 100, days: [2]int{20, 30}, straps: 2, grounds: 2},
		{name: "two straps, three grounds, unequal", pulls: 100, days: [2]int{6, 12}, straps: 2, grounds: 3, unequal: true},
		{name: "the same, half under-sampled", pulls: 100, days: [2]int{6, 12}, straps: 2, grounds: 3, unequal: true, blurred: 0.5},
		{name: "the same, one in ten a lower bound", pulls: 100, days: [2]int{6, 12}, straps: 2, grounds: 3, unequal: true, over: 0.1},
		{name: "one strap, one ground", pulls: 40, days: [2]int{6, 12}, straps: 1, grounds: 1},
		{name: "nothing moves on one ground", pulls: 60, days: [2]int{8, 12}, straps: 2, grounds: 2, still: true},
	}
}

// speedClub is a made-up club of which speeds are known, with what is true of
// it.
type speedClub struct {
	design
	strap, ground map[string]float64
	day, single   float64
	pulls         []shock.Pull
}

func newSpeedClub(r *rand.Rand, d design) speedClub {
	c := speedClub{design: d, strap: map[string]float64{}, ground: map[string]float64{}, day: uniform(r, 0.03, 0.15), single: uniform(r, 0.08, 0.2)}
	for i := range d.straps {
		c.strap[fmt.Sprint("strap ", i)] = uniform(r, 4, 15)
	}
	for i := range d.grounds {
		c.ground[fmt.Sprint("ground ", i)] = uniform(r, 0.15, 1)
	}
	if d.still {
		c.ground[fmt.Sprint("ground ", d.grounds-1)] = 20
	}
	effects := make([]float64, d.days[0]+r.IntN(d.days[1]-d.days[0]+1))
	for i := range effects {
		effects[i] = c.day * r.NormFloat64()
	}
	skew := func(n int) int {
		if d.unequal {
			return int(float64(n) * r.Float64() * r.Float64())
		}
		return r.IntN(n)
	}
	for range d.pulls {
		day := skew(len(effects))
		p := c.planned(r, skew(d.straps), skew(d.grounds))
		p.Day = fmt.Sprint(day)
		c.pulls = append(c.pulls, c.read(r, p, effects[day]+c.single*r.NormFloat64()))
	}
	return c
}

// planned is a pull of which all is known but the peak.
func (c speedClub) planned(r *rand.Rand, strap, ground int) shock.Pull {
	return shock.Pull{
		Class: shock.Class{Kind: pull.Kinetic, Ground: fmt.Sprint("ground ", ground), Strap: fmt.Sprint("strap ", strap)},
		Speed: unit.Speed(uniform(r, 1, 5)), Puller: unit.Mass(uniform(r, 1800, 4500)), Reference: unit.Mass(uniform(r, 1800, 4500)),
		StrapLength: unit.Length(uniform(r, 6, 12)), StrapMBS: unit.Force(uniform(r, 80e3, 140e3)),
	}
}

// truth is the peak by calc/kinetic.
func (c speedClub) truth(p shock.Pull) unit.Force {
	k, err := kinetic.Closed(kinetic.Pull{
		Puller: p.Puller, Stuck: p.Reference, Speed: p.Speed,
		Line:       kinetic.Line{Curve: kinetic.Linear(unit.Stiffness(c.strap[p.Class.Strap] * float64(p.StrapMBS) / float64(p.StrapLength)))},
		Resistance: unit.Force(c.ground[p.Class.Ground]) * p.Reference.Weight(),
	})
	if err != nil {
		panic(err)
	}
	return k.Peak
}

// read is the pull as the instrument shows it.
func (c speedClub) read(r *rand.Rand, p shock.Pull, off float64) shock.Pull {
	truth := c.truth(p) * unit.Force(math.Exp(off))
	p.Peak, p.Low, p.High = truth, truth, truth
	switch x := r.Float64(); {
	case x < c.blurred:
		hidden := uniform(r, 0.02, 0.35)
		p.Peak = truth * unit.Force(1-hidden*r.Float64())
		p.Low, p.High, p.Flags = p.Peak, p.Peak/unit.Force(1-hidden), []string{pull.FlagSampling}
	case x < c.blurred+c.over:
		p.Peak = truth * unit.Force(uniform(r, 0.7, 1))
		p.Low, p.High, p.Flags = p.Peak, 0, []string{pull.FlagUnderWay}
	}
	return p
}

// kept counts how often something held.
type kept struct{ held, asked int }

func (k *kept) add(held bool) {
	k.asked++
	if held {
		k.held++
	}
}

func (k *kept) plus(other kept) {
	k.held += other.held
	k.asked += other.asked
}

// holds asserts that between 93 and 97 % held, give or take three standard
// deviations of a binomial count of as many. More than 97 % is no fault where
// few were asked or the pulls can tell little.
func (k kept) holds(t *testing.T, what string) {
	t.Helper()
	slack := 3 * math.Sqrt(0.95*0.05/float64(max(k.asked, 1)))
	assert.GreaterOrEqual(t, k.share(), 0.93-slack, "%s: %v", what, k)
}

func (k kept) share() float64 { return float64(k.held) / float64(max(k.asked, 1)) }

func (k kept) String() string { return fmt.Sprintf("%5.1f %% of %d", 100*k.share(), k.asked) }

// speedTally is what became of the promises of one design.
type speedTally struct {
	straps, grounds, bounds kept
	below, above            int // intervals that lie below and above the truth
	open                    int // intervals without an upper end
	still                   kept
	none                    int
	over                    []float64 // bound over that of one who knows everything
}

func (c *speedTally) interval(k *kept, got shock.Coefficient, truth float64) {
	low, high := got.Low, got.High
	switch {
	case low == nil:
		return
	case high == nil:
		c.open++
	}
	below, above := high != nil && *high < truth, *low > truth
	k.add(!below && !above)
	if below {
		c.below++
	}
	if above {
		c.above++
	}
}

func (c *speedTally) add(r *rand.Rand, club speedClub) {
	f, _ := shock.FitSpeed(club.pulls)
	if f == nil {
		c.none++
		return
	}
	for _, got := range f.Straps {
		c.interval(&c.straps, got, club.strap[got.Name])
	}
	for _, got := range f.Grounds {
		if club.ground[got.Name] > 10 {
			c.still.add(got.Still || got.High == nil)
			continue
		}
		c.interval(&c.grounds, got, club.ground[got.Name])
	}
	plan := club.planned(r, r.IntN(club.straps), r.IntN(club.grounds))
	_, upper, err := f.Peak(plan)
	if err != nil || upper == nil {
		return
	}
	known := float64(club.truth(plan)) * math.Exp(z95*math.Hypot(club.day, club.single))
	c.bounds.add(float64(*upper) >= known)
	c.over = append(c.over, float64(*upper)/known)
}

func (c *speedTally) String() string {
	slices.Sort(c.over)
	return fmt.Sprintf("straps %v, grounds %v, bounds %v (median %.3f of that of one who knows all), intervals below %d, above %d, open %d, nothing moved seen %v, no fit %d",
		c.straps, c.grounds, c.bounds, c.over[len(c.over)/2], c.below, c.above, c.open, c.still, c.none)
}

// TestSpeedClubs fits clubs of which the truth is known. The long version, of
// which testdata/shock/speedclubs.txt is the outcome, is
//
//	go test ./analysis/shock -run TestSpeedClubs -clubs 2000 -v
func TestSpeedClubs(t *testing.T) {
	t.Parallel()
	n := 10
	if *clubs > 0 {
		n = *clubs / len(designs())
	}
	var lines []string
	var coefficients, bounds kept
	for i, d := range designs() {
		var c speedTally
		for k := range n {
			r := rand.New(rand.NewPCG(3000+uint64(i), uint64(k)))
			c.add(r, newSpeedClub(r, d))
		}
		lines = append(lines, fmt.Sprintf("%-36s %v", d.name, &c))
		for _, k := range []kept{c.straps, c.grounds} {
			coefficients.plus(k)
		}
		bounds.plus(c.bounds)
		c.bounds.holds(t, d.name+": bounds")
		c.straps.holds(t, d.name+": straps")
		c.grounds.holds(t, d.name+": grounds")
	}
	t.Logf("%d clubs of each design\n%s\nall: coefficients %v, bounds %v", n, strings.Join(lines, "\n"), coefficients, bounds)
	assert.LessOrEqual(t, bounds.share(), 0.97+3*math.Sqrt(0.95*0.05/float64(bounds.asked)))
	bounds.holds(t, "bounds")
	coefficients.holds(t, "intervals")
}

func BenchmarkFitSpeed(b *testing.B) {
	c := newSpeedClub(rand.New(rand.NewPCG(1, 1)), designs()[5])
	b.ReportAllocs()
	for b.Loop() {
		shock.FitSpeed(c.pulls)
	}
}
