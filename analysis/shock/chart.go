package shock

import (
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrChart is what every error about a chart unwraps to.
var ErrChart error = words.Kind("shock.draw.nothing")

// Point is one logged pull in a chart of shock factors.
type Point struct {
	Pull   Pull
	Factor float64
	// Low to High is where the true factor lies, both equal to Factor where
	// nothing but the reading is known. High is +Inf where the reading is only
	// a lower bound.
	Low, High float64
}

// Exact tells whether there is no interval to draw.
func (p Point) Exact() bool { return p.Low == p.High }

// Open tells whether the factor is only a lower bound.
func (p Point) Open() bool { return math.IsInf(p.High, 1) }

func pointOf(p Pull) Point {
	low, high := p.interval()
	return Point{p, p.Factor(), math.Exp(low), math.Exp(high)}
}

// SpeedChart is shock factors against speed for one strap and two vehicles.
// The curves are for just those; the points are all logged pulls with the
// strap, whatever the vehicles were.
type SpeedChart struct {
	// Pull is what the curves are for: vehicles, strap, its length and
	// strength. Its ground and speed are left open.
	Pull    Pull
	Grounds []GroundChart // by name
}

// GroundChart is the part of a SpeedChart on one ground.
type GroundChart struct {
	Ground string
	Points []Point
	Curve  []CurvePoint // rising speeds; empty where the speed fit knows too little
}

// CurvePoint is what the speed fit says at one speed.
type CurvePoint struct {
	Speed    unit.Speed
	Expected float64  // shock factor
	Upper    *float64 // 95/95 bound; nil where there is none
}

// curvePoints is how many points make a curve.
const curvePoints = 41

// ChartSpeed makes the chart of factors against speed. What like leaves open
// is taken from the log: the strap with the most pulls of known speed, its
// length and strength, and the vehicles of the latest pull with it.
func ChartSpeed(pulls []Pull, like Pull) (SpeedChart, error) { return fitted(pulls).ChartSpeed(like) }

// ChartSpeed is the chart of ChartSpeed from what was fitted.
func (f *Fitted) ChartSpeed(like Pull) (SpeedChart, error) {
	points := map[string][]Point{}
	used, straps := []Pull{}, map[string]int{}
	for _, p := range f.Set.Used {
		if p.Class.Kind == pull.Kinetic && p.Speed > 0 {
			used = append(used, p)
			straps[p.Class.Strap]++
		}
	}
	if len(used) == 0 {
		return SpeedChart{}, words.Error("shock.speed.nokinetic", ErrChart)
	}
	like.Class.Kind = pull.Kinetic
	if like.Class.Strap == "" {
		like.Class.Strap = most(straps)
	}
	for _, p := range used {
		if p.Class.Strap == like.Class.Strap {
			points[p.Class.Ground] = append(points[p.Class.Ground], pointOf(p))
		}
	}
	if len(points) == 0 {
		return SpeedChart{}, words.Error("shock.speed.nostrap", ErrChart, like.Class.Strap)
	}
	like.take(used, func(p Pull) bool { return p.Class.Strap == like.Class.Strap }, true)
	c := SpeedChart{Pull: like}
	for ground, of := range points {
		c.Grounds = append(c.Grounds, GroundChart{ground, of, curve(f.Speed, like, ground, of)})
	}
	slices.SortFunc(c.Grounds, func(a, b GroundChart) int { return compare(Class{Ground: a.Ground}, Class{Ground: b.Ground}) })
	return c, nil
}

// most is the name that was counted most often, the first of several by name.
func most(counts map[string]int) (name string) {
	names := make([]string, 0, len(counts))
	for n := range counts {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		if counts[n] > counts[name] {
			name = n
		}
	}
	return name
}

// curve is what the fit says between the slowest and the fastest of the
// points: it is not drawn where nothing was measured.
func curve(fit *SpeedFit, like Pull, ground string, of []Point) (all []CurvePoint) {
	if fit == nil {
		return nil
	}
	slowest, fastest := math.Inf(1), 0.0
	for _, p := range of {
		slowest, fastest = math.Min(slowest, float64(p.Pull.Speed)), math.Max(fastest, float64(p.Pull.Speed))
	}
	like.Class.Ground = ground
	for i := range curvePoints {
		like.Speed = unit.Speed(slowest + (fastest-slowest)*float64(i)/(curvePoints-1))
		expected, upper, err := fit.Peak(like)
		if err != nil {
			return nil
		}
		p := CurvePoint{Speed: like.Speed, Expected: like.relative(expected)}
		if upper != nil {
			u := like.relative(*upper)
			p.Upper = &u
		}
		all = append(all, p)
	}
	return all
}

// ResidualChart is logged peaks over what the speed fit expects of them.
type ResidualChart struct {
	Grounds []GroundResiduals // by name
	Days    []string          // in the order of the log
	Spread  float64           // standard deviation of the logarithms
}

// GroundResiduals are the residuals on one ground.
type GroundResiduals struct {
	Ground    string
	Residuals []Residual
}

// ChartResiduals makes the chart of residuals.
func ChartResiduals(pulls []Pull) (ResidualChart, error) { return fitted(pulls).ChartResiduals() }

// ChartResiduals is the chart of ChartResiduals from what was fitted.
func (f *Fitted) ChartResiduals() (ResidualChart, error) {
	if f.Speed == nil {
		return ResidualChart{}, words.Error("shock.speed.few", ErrChart)
	}
	c := ResidualChart{Spread: f.Speed.Spread}
	grounds, days := map[string][]Residual{}, map[string]bool{}
	for _, r := range f.Speed.Residuals() {
		grounds[r.Pull.Class.Ground] = append(grounds[r.Pull.Class.Ground], r)
		if !days[r.Pull.Day] {
			days[r.Pull.Day] = true
			c.Days = append(c.Days, r.Pull.Day)
		}
	}
	for ground, of := range grounds {
		c.Grounds = append(c.Grounds, GroundResiduals{ground, of})
	}
	slices.SortFunc(c.Grounds, func(a, b GroundResiduals) int { return compare(Class{Ground: a.Ground}, Class{Ground: b.Ground}) })
	return c, nil
}

// ClassChart is the multipliers of classes beside an assumed one.
type ClassChart struct {
	Assumed float64 // 0: none
	Classes []ClassPoints
}

// ClassPoints is one class with its pulls.
type ClassPoints struct {
	Fit    ClassFit
	Points []Point
}

// ChartClasses makes the chart of classes.
func ChartClasses(pulls []Pull, assumed float64) (ClassChart, error) {
	return fitted(pulls).ChartClasses(assumed)
}

// ChartClasses is the chart of ChartClasses from what was fitted.
func (f *Fitted) ChartClasses(assumed float64) (ClassChart, error) {
	if len(f.Set.Classes) == 0 {
		return ClassChart{}, words.Error("shock.fit.nopull", ErrChart)
	}
	points := map[Class][]Point{}
	for _, p := range f.Set.Used {
		points[p.Class] = append(points[p.Class], pointOf(p))
	}
	c := ClassChart{Assumed: assumed}
	for _, class := range f.Set.Classes {
		c.Classes = append(c.Classes, ClassPoints{class, points[class.Class]})
	}
	return c, nil
}
