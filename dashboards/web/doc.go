// Package web serves the pages: what a person looks at on a test day and
// afterwards. It shows what the recorder, the watcher and the store know; it
// measures and judges nothing itself, and no request it causes leaves the
// machine.
//
// Text and the drawing of the rig come from the server as plain HTML, so that
// every page is whole without its script. The script makes the line live and
// lets a trace be zoomed. It is built by go generate; without it the program
// builds all the same and the pages say what to run.
//
// # The JSON interface
//
// All of it is read only. Times are nanoseconds UTC, forces newtons with the
// zero as the cell sends it, unless a name says otherwise. An error is
// {"error": "what, where, what to do"} with a fitting status.
//
//	GET /api/cells                what each cell is and how it is doing
//	GET /api/pulls                the latest pulls; ?cell=NAME &kind= &limit=
//	GET /api/pulls/{id}           one pull: measured, limits that a person set, whether it was set aside, rig as it was, verdict of every item
//	GET /api/pulls/{id}/trace     ?from= &to= &columns= : least and largest of each column
//	GET /api/trace                the same for any time: ?cell=NAME, and either from and to, or seconds=
//	GET /api/multipliers          a set with its pulls; ?set=NAME@VERSION, or log for what the log says today
//	GET /api/multipliers/classes.csv   what it plans with, as a table
//	GET /api/multipliers/pulls.csv     the pulls behind it, as multipliers fit reads them
//	GET /api/multipliers/speed         factors against speed, by ground; ?set= &strap=
//	GET /api/multipliers/residuals     peaks over what the fit by speed expects; ?set=
//	GET /api/multipliers/classes       factors of each class, its bound, and what is assumed; ?set=
//	GET /api/cells/{name}/calibration  points of the calibration in force, off its curve in newtons, and its interval
//	GET /api/live                 ?cell=NAME : server-sent events, see below
//
// A trace is {"from", "to", "step", "t": […], "low": […], "high": […],
// "n": […]} with times in milliseconds; n is how many readings a column
// holds, and step the usual time between two readings. Columns without a reading
// are left out; of an outline, wide is how much time a column takes in.
//
// The stream sends hello (with the number of this run of the daemon),
// readings (columns of 20 ms, at most 25 batches a second, and the words of
// the moment), status (a cell came, went or fell silent), pull (a result,
// first provisional, then final), rig (another one is in force) and beat
// (every two seconds).
package web
