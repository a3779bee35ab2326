//go:build !race

package store

// fewerChecks is empty: as many cases of each property as usual.
const fewerChecks = ""
