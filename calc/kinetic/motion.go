package kinetic

import (
	"tautlog/calc/unit"
)

// Options say how far and how finely Solve goes.
type Options struct {
	// Until is the end in seconds after the line came taut. 0 means the first
	// peak: Solve ends there.
	Until float64
	// Tolerance is the relative error allowed in a step; 0 means 1e-11.
	Tolerance float64
	// Interval is the time between two samples in seconds, the first at 0.
	// It is not used where Each is nil.
	Interval float64
	// Each receives the motion at every Interval, in order.
	Each func(Sample)
}

// Sample is the motion at one moment. Positions count from where each vehicle
// stood when the line came taut.
type Sample struct {
	At      float64     // seconds after the line came taut
	Force   unit.Force  // of the line; 0 while it is slack
	Stretch unit.Length // of the line; negative by the slack while it is slack
	Puller  unit.Length // way of the puller
	Stuck   unit.Length // way of the stuck vehicle
	Speed   unit.Speed  // of the puller
	Dragged unit.Speed  // of the stuck vehicle
}

// Motion is what Solve found.
type Motion struct {
	Result              // of the largest peak
	Peaks   []Peak      // every local maximum of the line's force, in order
	Slack   []float64   // the moments at which the line went slack
	Way     unit.Length // of the stuck vehicle at the end
	Dragged unit.Speed  // of the stuck vehicle at the end
	Ended   float64     // seconds after the line came taut at which Solve ended
	Ledger  Ledger      // where the energy went
	Outside bool        // the line was stretched beyond the points of a Measured curve
	Steps   int         // steps of the integration
}

// Peak is a local maximum of the line's force.
type Peak struct {
	At      float64 // seconds after the line came taut
	Force   unit.Force
	Stretch unit.Length
}

// Ledger is the energy of the pull at the end, in joules. What came in, Start
// and Drive, went into the other entries.
type Ledger struct {
	Start  float64 // kinetic energy of the puller when the line came taut
	Drive  float64 // work of the drive force
	Motion float64 // kinetic energy of both vehicles at the end
	Stored float64 // what the line would still give back
	Line   float64 // lost in the line
	Ground float64 // lost to the resistance of the stuck vehicle
	Brake  float64 // lost to the brake of the puller
}
