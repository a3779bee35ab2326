// Package steady is the arithmetic of a steady pull: what resists a stuck
// vehicle, and what that asks of the line, the anchor, the blocks and the
// winch.
//
// The resistance is a sum of terms, each a share of the vehicle's weight or a
// force that was given:
//
//	rolling  coefficient of the surface × weight
//	grade    weight × sine of the slope
//	mire     1, 2 or 3 × weight, by how deep the vehicle sits
//	drag     what damage adds, as a force
//
// A term has a low end, a high end and a likely value between them, says how
// it came about, and names its sources. Where sources disagree the range
// spans them all, and they are listed. The likely value of a range is its
// middle: no source prints it. A value that was recalled and not read in its
// source has the status FromMemory, and whoever shows it says so in words.
// What a club has measured itself takes the place of a table.
//
// It is not a model of the ground and knows no speed, no jerk, no suction
// that lets go, no grip of the pulling vehicle. It does not judge: what gear
// may carry is left to package rating.
package steady
