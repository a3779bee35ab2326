package kinetic

import "math"

// state is where the two vehicles are and how fast they go.
type state struct {
	x1, v1 float64 // puller: metres from where the line came taut, m/s
	x2, v2 float64 // stuck vehicle, likewise
}

func (y state) stretch() float64 { return y.x1 - y.x2 }
func (y state) rate() float64    { return y.v1 - y.v2 }

func (y state) plus(h float64, k state) state {
	return state{y.x1 + h*k.x1, y.v1 + h*k.v1, y.x2 + h*k.x2, y.v2 + h*k.v2}
}

// stages are the slopes of one step.
type stages [7]state

// The pair of Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19: order 5
// with an embedded order 4, seven stages of which the last is the first of the
// next step. The motion knows no clock between two changes of the driver, so
// the nodes in time are not needed.
func dormandPrince(f func(state) state, y state, first state, h float64) (end state, k stages) {
	comb := func(c ...float64) state {
		z := y
		for i, a := range c {
			z = z.plus(h*a, k[i])
		}
		return z
	}
	k[0] = first
	k[1] = f(comb(1.0 / 5))
	k[2] = f(comb(3.0/40, 9.0/40))
	k[3] = f(comb(44.0/45, -56.0/15, 32.0/9))
	k[4] = f(comb(19372.0/6561, -25360.0/2187, 64448.0/6561, -212.0/729))
	k[5] = f(comb(9017.0/3168, -355.0/33, 46732.0/5247, 49.0/176, -5103.0/18656))
	end = comb(35.0/384, 0, 500.0/1113, 125.0/192, -2187.0/6784, 11.0/84)
	k[6] = f(end)
	return end, k
}

// misfit is the embedded error of a step relative to what is allowed: at most
// one is good. The scale of each component is its own size plus the typical
// size of the pull.
func misfit(y, end state, k stages, h, tolerance float64, typical state) float64 {
	var e state
	for i, c := range [7]float64{71.0 / 57600, 0, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40} {
		e = e.plus(h*c, k[i])
	}
	worst := 0.0
	for _, c := range [4][4]float64{
		{e.x1, y.x1, end.x1, typical.x1}, {e.v1, y.v1, end.v1, typical.v1},
		{e.x2, y.x2, end.x2, typical.x2}, {e.v2, y.v2, end.v2, typical.v2},
	} {
		scale := tolerance * (c[3] + math.Max(math.Abs(c[1]), math.Abs(c[2])))
		worst = math.Max(worst, math.Abs(c[0])/scale)
	}
	return worst
}

// within gives the state at the share u of a step of length h from y to end,
// to the fourth order (the continuous extension of the pair as in Hairer,
// Nørsett and Wanner, Solving Ordinary Differential Equations I, section
// II.6, code DOPRI5).
func within(y, end state, k stages, h, u float64) state {
	var d state
	for i, c := range [7]float64{
		-12715105075.0 / 11282082432, 0, 87487479700.0 / 32700410799, -10690763975.0 / 1880347072,
		701980252875.0 / 199316789632, -1453857185.0 / 822651844, 69997945.0 / 29380423,
	} {
		d = d.plus(h*c, k[i])
	}
	w := 1 - u
	mix := func(a, b, ka, kb, d float64) float64 {
		diff := b - a
		bspl := h*ka - diff
		return a + u*(diff+w*(bspl+u*(diff-h*kb-bspl+w*d)))
	}
	return state{
		mix(y.x1, end.x1, k[0].x1, k[6].x1, d.x1), mix(y.v1, end.v1, k[0].v1, k[6].v1, d.v1),
		mix(y.x2, end.x2, k[0].x2, k[6].x2, d.x2), mix(y.v2, end.v2, k[0].v2, k[6].v2, d.v2),
	}
}
