// Package rating compares what each item of a rig carried with what it may
// carry, and says so in words.
package rating
