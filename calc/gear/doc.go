// Package gear describes the items that carry a pull - points, mountings,
// shackles, straps, ropes, blocks, cells - and the vehicles at the ends, with
// what the makers stamped on them, on whatever basis.
//
// It holds data and the arithmetic of ratings: which rating speaks for a use,
// what is left of it at an angle, what working limit it gives. It does not
// know how gear is joined (package rig) and gives no verdicts (package
// rating).
//
// Unknown is a value here, never a zero: what was not recorded is a nil
// pointer, an empty list, or a word that says so. No design factor is ever
// assumed.
package gear
