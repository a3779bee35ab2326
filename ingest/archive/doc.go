// Package archive pushes what a store holds to an InfluxDB server and reads it
// back. It alone imports that database's client. It records nothing and finds
// no pulls, and nothing that records or shows waits for it.
//
// The server is one of version 2, or of version 1.8 with Flux switched on; its
// token is then "user:password", its organisation empty, and its bucket
// "database/retention policy". The tests run 1.8.10.
//
// # What is in an archive
//
// Times are in nanoseconds UTC. Each point has the tags
//
//	station  the store that it was pushed from: many laptops push into one
//	         archive, and each may have a cell of the same name
//	cell     the cell, by the name that it had when it was pushed first
//	day      the date in UTC, as 2026-05-17, but for measurement cell
//
// They never change for a reading or a pull, so that whatever is pushed again
// lies on what is there.
//
// line_force, one point a reading, has the fields
//
//	raw      integer, as the cell sent it
//	newtons  float, the force by the cell's calibration; left out where the
//	         cell said that the reading means nothing
//	mark     text, only where the cell said something of the reading:
//	         "overload", "invalid", "lost", separated by blanks
//
// pull, one point a settled pull, at the time at which it began when it was
// pushed first, has the fields of Record in package pull by their names there
// (lists as text with commas, uncertainty left out, times as start_ns, end_ns
// and peak_at_ns), and
//
//	pull_id                its number in the store, integer
//	ground, strap, rig, test_day, notes, depth, date
//	reference_kg, puller_kg, speed_mps, slack_m, attempt,
//	shock_factor, shock_factor_low, shock_factor_high, limits_set_by, set_aside_by
//	                       (not empty: a person took it for no pull, and it counts nowhere)
//	doc_parts, doc, doc_2  the pull as the store keeps it, as JSON in so many
//	                       parts
//
// cell, one point each time that a cell was changed, at that time, has
//
//	doc         the cell, its calibrations and zeros as the store keeps them,
//	            as JSON; doc_parts as above
//	capacity_N  float; left out where it is not known
//
// # Pushing
//
// A push goes through the readings of each cell in order of time, in blocking
// writes, and notes in the store how far it came only when the server has
// answered. What was under way when it ended is pushed again, to the same
// points. Stretches that were added behind, that a corrected calibration
// changed, or that the server refused, are kept in the store as well and pushed
// after what is new.
package archive
