// Package pull finds the pulls in a force trace and measures them: peak with
// its interval, rise, impulse, kind. One Finder serves a live line and a
// file: for any split of the same samples it finds the same pulls. It knows
// no clock, no instrument and no store, and it does not judge what a pull did
// to the gear.
//
// # How a pull is found
//
// A line at rest is followed block by block (quiet.go): the median of the
// blocks' means is its level, the median of their standard deviations, with
// the wander of the means, its noise. A reading above that level by more than
// six standard deviations, half a percent of the capacity and the user's
// floor begins a taut moment; one below half of that ends it. A moment of one
// reading, or of less than 20 ms, is no pull. A single reading that leaves
// its neighbours and comes back at once is electrical; it is replaced by
// their mean and counted (window.go).
//
// The start is walked back to the last reading at the quiet level. That level
// is then measured again from the quiet readings just before (median, and
// mean and deviation of what lies within three sigma; still.go: without what
// stands off from the rest for longer, as when the line is handled). A level within 2 % of
// the capacity from zero is drift of the zero and is taken off; a higher one
// is a standing tension and is not.
//
// Moments with up to three seconds of slack between them are one pull with
// rebounds, unless a later one that comes 3.5 s or more after the peak is
// stronger than the one before it: that is another attempt. So is one after
// moments that were too weak for a pull. A pull also ends
// when the line has carried less than an eighth of its peak for five seconds,
// so that a line that is left under light tension does not hold it open;
// until such a line has been at rest at zero again, a new pull has to reach a
// quarter of the last one's peak.
//
// A trace that begins above the quiet band is inside a pull, unless it is
// level and below a quarter of the capacity: then it is a standing tension.
//
// A person may set the start and the end otherwise: a Stretch measures what
// lies between, with the same code.
//
// # What is kept
//
// A window of the last thousands of readings, for walking back; of the pull
// going on, sums, the surroundings of its largest reading, and its course in
// at most 65536 points (outline.go). Memory does not grow with the pull.
//
// The thresholds of six sigma and half a percent, the times and the shares
// are common practice, no source, and are tested against independent traces.
package pull
