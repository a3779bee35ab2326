package calibrate

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"tautlog/calc/unit"
)

// Lack compares how far the mean of a force's repeated readings lies from the
// curve with how far the readings lie from their mean: the F test for lack of
// fit.
type Lack struct {
	MeanSquare float64 // of the means from the curve, N²
	Freedom    int     // different forces less coefficients
	Pure       float64 // mean square of the readings from their means, N²
	PureFree   int     // points less different forces
	P          float64 // chance of so much lack of fit where the curve is right
}

// lack groups the residuals by force. It is nil where no force was applied
// twice or there are too few.
func (f Fit) lack() *Lack {
	groups := map[unit.Force][]float64{}
	for i, p := range f.Points {
		groups[p.Force] = append(groups[p.Force], float64(f.Residuals[i]))
	}
	l := &Lack{Freedom: len(groups) - len(f.Coefficients), PureFree: len(f.Points) - len(groups)}
	if l.Freedom < 1 || l.PureFree < 1 {
		return nil
	}
	forces := make([]unit.Force, 0, len(groups))
	for force := range groups {
		forces = append(forces, force)
	}
	slices.SortFunc(forces, cmp.Compare)
	for _, force := range forces { // in order, so that the sums are the same each time
		g := groups[force]
		mean := 0.0
		for _, r := range g {
			mean += r / float64(len(g))
		}
		l.MeanSquare += float64(len(g)) * mean * mean / float64(l.Freedom)
		for _, r := range g {
			l.Pure += (r - mean) * (r - mean) / float64(l.PureFree)
		}
	}
	l.P = 1
	if l.MeanSquare > 0 {
		l.P = fTail(l.MeanSquare/l.Pure, l.Freedom, l.PureFree)
	}
	return l
}

// fTail is the chance of a larger F.
func fTail(f float64, d1, d2 int) float64 {
	if math.IsInf(f, 1) {
		return 0
	}
	return distuv.F{D1: float64(d1), D2: float64(d2)}.Survival(f)
}

// MeanSD is the standard uncertainty of the curve itself at a reading
// (JCGM 100:2008, H.3.4), from the scatter of the points.
func (f Fit) MeanSD(reading float64) unit.Force {
	return f.ResidualSD * unit.Force(math.Sqrt(f.leverage(reading)))
}

func (f Fit) leverage(reading float64) float64 {
	k := len(f.Coefficients)
	p := mat.NewVecDense(k, f.powers(reading, k))
	return mat.Inner(p, f.inverse, p)
}

// Prediction is half the width of the two-sided interval that holds the force
// behind one new reading, at a level such as 0.95: t·s·√(1 + xᵀ(XᵀX)⁻¹x).
func (f Fit) Prediction(reading, level float64) unit.Force {
	return f.prediction(reading, level, float64(f.ResidualSD), f.Freedom)
}

func (f Fit) prediction(reading, level, sd float64, freedom int) unit.Force {
	t := distuv.StudentsT{Sigma: 1, Nu: float64(freedom)}.Quantile((1 + level) / 2)
	return unit.Force(t * sd * math.Sqrt(1+f.leverage(reading)))
}

// Uncertainty95 is Prediction at 95 %, and where the points show lack of fit
// (below 5 % chance) the larger one that has the lack's mean square in place
// of the residuals', so that the misfit is not averaged away by repeating it.
func (f Fit) Uncertainty95(reading float64) unit.Force {
	u := f.Prediction(reading, 0.95)
	if f.Misfit() {
		u = max(u, f.prediction(reading, 0.95, math.Sqrt(f.Lack.MeanSquare), f.Lack.Freedom))
	}
	return u
}

// Misfit tells whether the means of repeated readings lie further from the
// curve than their scatter explains, at 5 %.
func (f Fit) Misfit() bool { return f.Lack != nil && f.Lack.P < 0.05 }

// Absolute95 is the largest Uncertainty95 over the calibrated range, looked
// for at 201 readings: with few points in the middle it is not at the ends.
func (f Fit) Absolute95() unit.Force {
	const steps = 200
	at := f.low
	most := f.leverage(at)
	for i := range steps { // the interval is widest where the leverage is largest
		x := f.low + (f.high-f.low)*float64(i+1)/steps
		if l := f.leverage(x); l > most {
			at, most = x, l
		}
	}
	return f.Uncertainty95(at)
}
