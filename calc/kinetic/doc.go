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
// It is not a model of a whole recovery: no turning, no lifting of the wheels,
// no mass of the line itself, no gear that gives way, no grip that changes
// with load. What the ground really does is learnt from measured pulls.
//
// Quantities are those of package unit. Times are seconds after the line came
// taut. Positions count in the direction of the pull.
package kinetic
