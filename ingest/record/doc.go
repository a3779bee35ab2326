// Package record is the recorder: for every cell it follows the serial line,
// decodes what arrives, gives each reading its time, keeps the readings for a
// quarter of a second at most, commits them to the store and announces them
// to whoever watches.
//
// A reading is on disk at most CommitEvery after it arrived. Where the disk
// refuses it, readings are held in memory, up to a bound that is stated in
// the cell's Status, and written when the disk takes them again.
//
// Times: an instrument's tick is mapped to UTC by the earliest arrivals (see
// sampleClock); readings sit on even grids, never go back in time, and leave
// a gap where some are missing. The readings of the first tenth of a second
// after the line was opened are held back for that long, until it is seen
// what of them had waited in a buffer. The wall clock is read once, at the
// start: a step of it moves nothing, and people are told of it.
//
// An instrument that answers only when it is asked, with a line of text or by
// Modbus, is asked at an even pace (see asker). A reading of it was taken
// between the request and the end of its answer; its time is the middle of the
// two, laid on the grid to a millisecond, and Status tells how far off that
// can be. A request that is not answered in time leaves a gap and a mark, and
// an answer that comes when nobody waits for it any more is left out. Strings
// that start an instrument are sent when its line is opened, and again while
// nothing comes.
//
// The package does not open devices itself (port does), does not know how
// bytes encode readings (wire does), does not look for pulls (watch does) and
// never changes or leaves out a reading because of its value.
package record
