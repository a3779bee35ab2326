package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrPull says that a pull is described in a way that cannot be calculated.
var ErrPull error = words.Kind("kinetic.incalculable")

// Pull describes a kinetic pull from the moment when the line comes taut.
type Pull struct {
	Puller unit.Mass  // mass of the pulling vehicle with its load
	Stuck  unit.Mass  // mass of the stuck vehicle with its load; not used when Fixed
	Speed  unit.Speed // of the puller when the line comes taut
	Line   Line

	// Drive is the force with which the puller's wheels push on from then on.
	Drive unit.Force
	// Brake is a resistance to the puller's own motion, like dry friction:
	// rolling resistance, or brakes. 0 for the textbook case.
	Brake unit.Force
	// Changes are what the driver does later, in order of time.
	Changes []Change

	// Fixed means that the stuck end does not move whatever happens.
	Fixed bool
	// Resistance holds the stuck vehicle: it moves only while the line pulls
	// harder.
	Resistance unit.Force
	// Moving is the resistance once the stuck vehicle moves; 0 means the same
	// as Resistance. A vehicle that stops again is held by Resistance again.
	Moving unit.Force
}

// Change is a new drive and brake force from a moment on.
type Change struct {
	At    float64 // seconds after the line came taut
	Drive unit.Force
	Brake unit.Force
}

// Result is what a kinetic pull comes to.
type Result struct {
	Peak    unit.Force  // largest force of the line
	PeakAt  float64     // seconds from taut to the peak
	Stretch unit.Length // of the line at the peak
	// Energy is the work that loading the line to the peak took, in joules:
	// ½·Peak·Stretch for a linear line. What the line gives back is less by
	// its loss.
	Energy float64
	Moves  bool // whether the stuck vehicle moves before the first peak
}

// Validate refuses a pull that cannot be calculated and names the quantity.
func (p Pull) Validate() error {
	if err := p.Line.Validate(); err != nil {
		return err
	}
	checks := []struct {
		name  string
		value float64
		ok    bool
	}{
		{"puller", float64(p.Puller), p.Puller > 0},
		{"stuck", float64(p.Stuck), p.Stuck > 0 || p.Fixed},
		{"speed", float64(p.Speed), p.Speed >= 0},
		{"drive", float64(p.Drive), p.Drive >= 0},
		{"brake", float64(p.Brake), p.Brake >= 0},
		{"resistance", float64(p.Resistance), p.Resistance >= 0},
		{"moving", float64(p.Moving), p.Moving >= 0 && p.Moving <= p.Resistance},
	}
	for _, c := range checks {
		if !c.ok || math.IsInf(c.value, 0) || math.IsNaN(c.value) {
			return words.Error("kinetic.cannot-be", ErrPull, words.Say("kinetic.name."+c.name), c.value)
		}
	}
	return p.validateChanges()
}

func (p Pull) validateChanges() error {
	before := 0.0
	for i, c := range p.Changes {
		if !(c.At > before) || math.IsInf(c.At, 0) {
			return words.Error("kinetic.driver.order", ErrPull, i+1, c.At)
		}
		if !(c.Drive >= 0 && c.Brake >= 0) || math.IsInf(float64(c.Drive+c.Brake), 0) {
			return words.Error("kinetic.driver.force.wrong", ErrPull, i+1)
		}
		before = c.At
	}
	return nil
}
