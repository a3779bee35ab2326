// Package shock turns logged pulls into multipliers: how many times the
// reference vehicle's weight a pull may put on the line, and how sure one may
// be of it.
//
// The shock factor of a pull is its peak over the weight of the reference
// mass. Its logarithm is taken to be normal within a class (kind, ground and
// strap), about a level that classes of one kind have more or less in common,
// with an effect that all pulls of one day share. What comes out of Fit is a
// median and an upper bound for each class: with 95 % confidence, 95 % of such
// pulls stay below it.
//
// A set of multipliers is kept under a name and a version, with the pulls behind
// it (Kept). FromLog makes of a pull in a log what a fit needs.
//
// It opens no files and draws nothing. It judges no gear and plans no pull:
// that is arithmetic on what it finds.
package shock
