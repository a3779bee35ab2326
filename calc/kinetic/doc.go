// Package kinetic is the physics of a kinetic pull: a moving vehicle and a
// stuck one joined by a line that stretches.
//
// The model has two bodies on one straight track. The puller of mass m1
// arrives at speed v at the moment when the line comes taut and is pushed on
// by a drive force T. The stuck vehicle of mass m2 is held by a resistance R
// that works like dry friction: it stands while the line pulls with less than
// R and is slowed by R while it moves. The line pulls with a force F(x) of its
// stretch x, along a curve of first loading and, where it loses energy, along
// lower curves when it is let out.
//
// Two ways lead to the peak. Closed gives the textbook formulas, for a linear
// line without loss. Solve integrates the motion with step control, for any
// curve, with loss, with a driver who drives on, lifts or brakes, and through
// the rebounds; where the formulas hold the two agree.
//
// Plan puts around that what people plan with: a Strap as its label or a
// measurement describes it, dry or wet, a run-up through slack with a drive that
// grip may cap, several attempts, and what follows from the peak for the strap
// and for those who stand by. Its Outcome says what it does not know.
//
// It is not a model of a whole recovery: no turning, no lifting of the wheels,
// no mass of the line itself, no gear that gives way, no grip that changes
// with load, no strap that weakens from pull to pull. What the ground really
// does is learnt from measured pulls.
//
// Quantities are those of package unit. Times are seconds after the line came
// taut. Positions count in the direction of the pull.
package kinetic
