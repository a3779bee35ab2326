package steady

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// MaxParts is the largest number of line parts that is planned.
const MaxParts = 16

// Line is how the line is laid between the vehicle and what holds its other
// end.
type Line struct {
	// Parts is the number of line parts that pull at the vehicle, 1 for a
	// line straight to it.
	Parts int
	// Sheaves is the number of sheaves that the line runs over; see
	// UsualSheaves.
	Sheaves int
	// Loss is the part of the line pull that each sheave takes, 0.07 for
	// 7 %, as measured. Nil: the rule of the army sheet, see
	// TackleResistance.
	Loss *float64
	// Redirects are the included angles between the two lines at blocks that
	// change the direction.
	Redirects []unit.Angle
	// AnchorLines is the number of line parts that the anchor holds, 0 for
	// all of them.
	AnchorLines int
}

// UsualSheaves is the number of sheaves that so many parts and redirects
// need: one less than the parts, and one a redirect.
func UsualSheaves(parts, redirects int) int { return parts - 1 + redirects }

// MechanicalAdvantage is the number of line parts that a load resistance asks
// of a winch before the tackle's own resistance is counted: their quotient,
// rounded up (US Army course 63H34F01 Suppl. 1b).
func MechanicalAdvantage(resistance, winch unit.Force) int {
	const many = 1 << 30 // keeps the quotient an integer
	return max(1, int(math.Min(many, math.Ceil(float64(resistance/winch)))))
}

// TackleResistance is what the sheaves add to a load resistance: 10 % of it
// for each sheave (US Army course 63H34F01 Suppl. 1b; TB 9-2350-292-10).
func TackleResistance(resistance unit.Force, sheaves int) unit.Force {
	return resistance * unit.Force(sheaves) / 10
}

// Pull is the pull in the hauled part of the line, the fall line, that
// overcomes the resistance.
//
// By the army sheet it is the resistance with the tackle's over the number of
// parts. With a measured loss each sheave passes on e = 1 − loss of its pull:
// the parts, from the hauled one on, carry F, F·e, F·e² and so on, which add
// up to the resistance; sheaves beyond those of the tackle redirect the line
// between it and the winch, and each divides by e once more.
func (l Line) Pull(resistance unit.Force) unit.Force {
	if l.Loss == nil {
		return (resistance + TackleResistance(resistance, l.Sheaves)) / unit.Force(l.Parts)
	}
	return resistance / unit.Force(l.advantage())
}

// advantage is the resistance over the pull in the hauled part, with a
// measured loss.
func (l Line) advantage() float64 {
	e, sum := 1-*l.Loss, 0.0
	for i := range l.Parts {
		sum += math.Pow(e, float64(min(i, l.Sheaves)))
	}
	extra := max(0, l.Sheaves-(l.Parts-1))
	return sum * math.Pow(e, float64(extra))
}

// added is what the sheaves add to the resistance: by the army sheet, or with
// a measured loss all parts as the hauled one, less the resistance.
func (l Line) added(resistance unit.Force) unit.Force {
	if l.Loss == nil {
		return TackleResistance(resistance, l.Sheaves)
	}
	return resistance * unit.Force(float64(l.Parts)/l.advantage()-1)
}

// PartsFor is the smallest number of line parts with which the pull in the
// hauled part stays below what the winch can pull, with one sheave more for
// each part more than the line has. It starts at the mechanical advantage and
// raises it, as the army sheet does. Not ok: MaxParts are not enough.
func (l Line) PartsFor(resistance, winch unit.Force) (parts int, ok bool) {
	for n := MechanicalAdvantage(resistance, winch); n <= MaxParts; n++ {
		try := Line{Parts: n, Sheaves: max(0, l.Sheaves+n-l.Parts), Loss: l.Loss}
		if try.Pull(resistance) < winch {
			return n, true
		}
	}
	return 0, false
}

// BlockFactor is the load on a block over the line pull, where the two lines
// at it lie at the included angle: 2 cos(θ/2), the equilibrium of three
// forces. What the sheave takes is left out, as in the printed charts.
func BlockFactor(included unit.Angle) float64 { return 2 * math.Cos(float64(included)/2) }

func (l Line) validate() error {
	switch {
	case l.Parts < 1 || l.Parts > MaxParts:
		return words.Error("steady.parts.wrong", ErrPlan, l.Parts, MaxParts)
	case l.Sheaves < 0 || l.Sheaves > 2*MaxParts:
		return words.Error("steady.sheaves.wrong", ErrPlan, l.Sheaves, 2*MaxParts)
	case l.Loss != nil && !(*l.Loss >= 0 && *l.Loss < 1):
		return words.Error("steady.sheave.wrong", ErrPlan, *l.Loss)
	case l.AnchorLines < 0 || l.AnchorLines > l.Parts:
		return words.Error("steady.anchor.wrong", ErrPlan, l.AnchorLines, l.Parts)
	}
	for _, a := range l.Redirects {
		if !(a >= 0 && a <= math.Pi+1e-9) {
			return words.Error("steady.block.wrong", ErrPlan, a)
		}
	}
	return nil
}
