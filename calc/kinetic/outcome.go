package kinetic

import "tautlog/calc/unit"

// Outcome is what a planned pull comes to.
type Outcome struct {
	Result        // of the first peak
	Held   Result // of the same pull if the stuck vehicle did not move
	Pull   Pull   // what was calculated, from the moment when the line is taut
	Push   Push   // what pushes the puller

	ByFormula bool // by Closed; otherwise by Solve
	Outside   bool // the peak lies beyond the points of a measured curve

	// Hardest is the largest peak of all up to Followed seconds, the driver
	// driving on: as a rule the first.
	Hardest unit.Force

	GivenBack float64     // of Energy, in joules, if the line is let out
	Recoil    []Recoil    // of parts that let go at the peak
	KeepOut   unit.Length // 0: the line's length is not known
	KeepAway  float64     // KeepOut over the line's length
	Strength  unit.Force  // of the strap, wet if it is; 0: not known

	// Rebounds are the peaks that follow the first, the driver driving on, up
	// to Followed seconds. Nil without a loss: then they would never fade.
	Rebounds []Peak
	// Attempts are the pull and its repetitions, in order.
	Attempts []Attempt
	// Remarks are what to know: what was assumed, what is not known.
	Remarks []string
}

// Recoil is the bound of the speed of a part that lets go.
type Recoil struct {
	Part  unit.Mass
	Speed unit.Speed
}

// MultiplierOf says what Multiplier is a multiple of.
const MultiplierOf = "stuck vehicle's weight"

// Multiplier is the peak over the weight of the stuck vehicle.
func (o Outcome) Multiplier() float64 { return float64(o.Peak) / float64(o.Pull.Stuck.Weight()) }

// Share is the part of the strap's strength that a force asks; false where the
// strength is not known.
func (o Outcome) Share(f unit.Force) (float64, bool) {
	if o.Strength == 0 {
		return 0, false
	}
	return float64(f / o.Strength), true
}

// peaks finds the first peak, with the stuck vehicle as it is and held fast.
func (o *Outcome) peaks() (err error) {
	o.ByFormula = o.Pull.hasFormula()
	if o.Result, o.Outside, err = o.Pull.first(); err != nil {
		return err
	}
	held := o.Pull
	held.Fixed = true
	o.Held, _, err = held.first()
	return err
}

// first is the first peak, by formula where there is one.
func (p Pull) first() (r Result, outside bool, err error) {
	if p.hasFormula() {
		r, err = Closed(p)
		return r, false, err
	}
	m, err := Solve(p, Options{})
	return m.Result, m.Outside, err
}

// consequences works out what follows from the first peak.
func (o *Outcome) consequences(p Plan) {
	o.GivenBack = (1 - o.Pull.Line.Loss) * o.Energy
	for _, m := range p.Parts {
		o.Recoil = append(o.Recoil, Recoil{m, RecoilSpeed(o.Energy, m)})
	}
	o.KeepOut, o.KeepAway = KeepOut(p.Strap.Length, p.KeepOut), p.KeepOut
	o.Strength = p.Strap.Strength()
}
