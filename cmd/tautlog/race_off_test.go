//go:build !race

package main

// raceDetector says that the race detector is at work, which takes memory of
// its own.
const raceDetector = false
