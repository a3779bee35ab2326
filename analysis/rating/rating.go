// Package rating compares what each item of a rig carried with what it may
// carry, and says so in the trade's words.
//
// It gives verdicts on a measured peak; it never permits a pull. It does not
// find or measure pulls (package pull) and does not know how loads are
// shared (package rig).
package rating
