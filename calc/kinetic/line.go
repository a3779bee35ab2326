package kinetic

import (
	"math"

	"tautlog/calc/words"
)

// Line is what joins the vehicles.
//
// A line with loss gives back less than it took. When it is let out from a
// stretch with loading energy W₀, the force is that of first loading times
// (W/W₀)^s, where W is the loading energy at the stretch reached and
// s = Loss/(1−Loss); the work given back down to slack is then exactly
// (1−Loss)·W₀, for every curve. When it is loaded again before it went slack,
// the ratio to the curve of first loading recovers with twice that exponent
// until it is one; every loop therefore costs energy. A line that went slack
// starts afresh.
//
// This is a model of our own, chosen because it needs one number; no published
// figure for the loss of nylon is known to us, so the number must come from a
// measurement of the line at hand. The closed loop of one pull needs only the
// first two sentences.
type Line struct {
	Curve Curve
	Loss  float64 // share of the work of loading that is not given back, 0 ≤ Loss < 1
}

// Validate refuses a line without a curve or with an impossible loss.
func (l Line) Validate() error {
	if l.Curve == nil {
		return words.Error("kinetic.line.nocurve", ErrPull)
	}
	if !(l.Loss >= 0 && l.Loss < 1) {
		return words.Error("kinetic.loss.wrong", ErrPull, l.Loss)
	}
	if f := l.Curve.Force(1e-3); !(f > 0) || math.IsInf(f, 0) {
		return words.Error("kinetic.line.nostiffness", ErrPull)
	}
	return nil
}

// reloadFactor is how much quicker the force recovers on loading than it was
// lost on letting out. Two makes the recovery end at the geometric mean of
// the energies between which the line was let out, which goes over into a
// fresh start when it was let out to slack.
const reloadFactor = 2

// branch is the part of the force law in force between two turns of the
// motion: force = curve · ratio·(W/from)^exponent, never above the curve.
type branch struct {
	line     Line
	exponent float64 // 0 on first loading
	from     float64 // loading energy where the branch began, J
	ratio    float64 // ratio to the curve there
}

func (l Line) fresh() branch { return branch{line: l, ratio: 1} }

// lossExponent is s of the law above.
func (l Line) lossExponent() float64 { return l.Loss / (1 - l.Loss) }

// at is the ratio to the curve of first loading at loading energy w.
func (b branch) at(w float64) float64 {
	if b.exponent == 0 || b.from <= 0 {
		return b.ratio
	}
	return b.ratio * math.Pow(w/b.from, b.exponent)
}

// force is the line's pull at the stretch x.
func (b branch) force(x float64) float64 {
	if x <= 0 {
		return 0
	}
	if b.exponent == 0 {
		return b.ratio * b.line.Curve.Force(x)
	}
	return b.line.Curve.Force(x) * b.at(b.line.Curve.Energy(x))
}

// letOut is the branch that follows when the stretch begins to fall at x.
func (b branch) letOut(x float64) branch { return b.turn(x, b.line.lossExponent()) }

// takeUp is the branch that follows when the stretch begins to rise at x.
func (b branch) takeUp(x float64) branch { return b.turn(x, reloadFactor*b.line.lossExponent()) }

func (b branch) turn(x, exponent float64) branch {
	w := b.line.Curve.Energy(math.Max(x, 0))
	return branch{line: b.line, exponent: exponent, from: w, ratio: b.at(w)}
}

// work is the work done on the line along this branch up to the stretch x,
// in joules; negative when the line gave it back.
func (b branch) work(x float64) float64 {
	w := b.line.Curve.Energy(math.Max(x, 0))
	if b.exponent == 0 {
		return b.ratio * (w - b.from)
	}
	if b.from <= 0 {
		return 0
	}
	n := b.exponent + 1
	return b.ratio * b.from / n * (math.Pow(w/b.from, n) - 1)
}

// stored is what the line would give back if it were let out from x to slack.
func (b branch) stored(x float64) float64 {
	w := b.line.Curve.Energy(math.Max(x, 0))
	return (1 - b.line.Loss) * b.at(w) * w
}
