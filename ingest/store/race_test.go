//go:build race

package store

// fewerChecks is how many cases of each property are tried with the race
// detector, which makes the database some ten times slower.
const fewerChecks = "30"
