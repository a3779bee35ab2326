package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"tautlog/calc/calibrate"
)

// calibration is what was asked of "tautlog calibrate".
type calibration struct {
	degree int
	step   float64
	json   bool
	keep   keepFlags
	stored storedCell
	live   liveFlags
	list   bool
	use    int
	remove int
	back   int
	again  bool
	all    bool
}

// newCalibrate fits a calibration curve to points, and keeps the calibrations
// of cells.
func newCalibrate() *cobra.Command {
	a := &calibration{}
	c := &cobra.Command{
		Use:   "calibrate POINTS.csv [--save --cell NAME --data DIR] | --list | --use N | --remove N | --back N | --again | --live | --check FORCE | --zero | --tare",
		Short: "Fit a calibration curve and say how well it holds; keep it for a cell",
		Long: `Fits newtons to the readings of a cell under known forces. The table has the
columns reading and force_N (or force_kN, force_kgf, force_lbf, force_t) and, if
known, run and direction (up or down). "-" reads standard input.

Without --degree a degree is proposed, with the reason. The lower limit factor
and the loading ranges are those of ASTM E74. Relative errors follow ISO 376,
with formulas and limits from memory; they need runs named in the column run,
the first two without turning the cell and the third and fourth turned.

With --save the calibration is kept for a cell of the store, with its
certificate, and holds from --from on: from the date of the certificate where
that is not given, else from now. --curve keeps the curve of a certificate
that came without points. Nothing that is kept is overwritten: a correction is
kept under the next number, and where both begin at the same moment the higher
number holds. --use N keeps number N once more, to hold from --from on, with
another certificate where one is given;
--remove N takes it out of force, --back N brings it back.

--live takes the points as the loads hang: each is accepted when the reading is
steady, and the fit is shown as it grows. --check holds what hangs against the
calibration before a day, and keeps that; --zero and --tare take a level off
from now on. They read what "tautlog serve" is recording into the same store;
with --port they record the cell themselves. Steady, by the program's own rule:
over three seconds the reading drifts by no more than 0.02 % of the capacity and
scatters by no more than 0.05 %.

Readings stay as they are; force is derived from them. Pulls that were measured
by what is no longer in force are measured again with --again; what they were
stands in the journal.`,
		Example: `  tautlog calibrate POINTS.csv
  tautlog calibrate --degree 2 --json POINTS.csv
  tautlog calibrate POINTS.csv --save --cell River-1 --data ~/tautlog --certificate LF-2026-014 \
    --certificate-by 'Lower Fork workshop' --certificate-date 2026-05-02 --certificate-expires 2027-05-02 --certificate-uncertainty 0.1%
  tautlog calibrate --list --data ~/tautlog
  tautlog calibrate --again --cell River-1 --data ~/tautlog
  tautlog calibrate --check 0N --data ~/tautlog
  tautlog calibrate --live --cell River-1 --data ~/tautlog --port /dev/ttyUSB0`,
		Args: a.check,
		RunE: a.run,
	}
	f := c.Flags()
	f.IntVar(&a.degree, "degree", 0, "`degree` of the curve, 1 to 3; proposed when not given")
	f.Float64Var(&a.step, "step", 0, "one `step` of the reading, for the resolution by ISO 376; unknown when 0")
	f.BoolVar(&a.json, "json", false, "print one JSON document")
	f.BoolVar(&a.list, "list", false, "list the calibrations that are kept")
	f.IntVar(&a.use, "use", 0, "`number` of a kept calibration that is to hold from --from on")
	f.IntVar(&a.remove, "remove", 0, "`number` of a kept calibration to take out of force")
	f.IntVar(&a.back, "back", 0, "`number` of a removed calibration to bring back")
	f.BoolVar(&a.again, "again", false, "measure the pulls again that were measured by what is no longer in force")
	f.BoolVar(&a.all, "all", false, "with --again: all pulls of the cell")
	a.keep.add(f)
	a.stored.add(f)
	a.live.add(f)
	return c
}

// check wants a table, or one of the other things to do.
func (a *calibration) check(c *cobra.Command, args []string) error {
	modes := 0
	for _, flag := range []string{"list", "use", "remove", "back", "again", "live", "check", "zero", "tare"} {
		if c.Flags().Changed(flag) {
			modes++
		}
	}
	switch {
	case modes > 1 || modes == 1 && (len(args) > 0 || a.keep.save):
		return usagef("%s does one thing at a time: a table of points, or one of --list, --use, --remove, --back, --again, --live, --check, --zero, --tare", c.CommandPath())
	case modes == 1 && a.stored.dir == "":
		return usagef("%s wants the store that keeps the calibrations: add --data DIR", c.CommandPath())
	case a.live.points || a.use != 0:
		return a.keep.check(c, &a.stored, args)
	case modes == 1:
		return a.keep.unused()
	case a.keep.save && a.keep.curve != "" && len(args) == 0:
		return a.keep.check(c, &a.stored, args)
	case len(args) != 1:
		return usagef("%s wants one table of points, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	case c.Flags().Changed("degree") && (a.degree < 1 || a.degree > 3):
		return usagef("--degree %d: give 1, 2 or 3", a.degree)
	case !(a.step >= 0):
		return usagef("--step %g: give a number above zero, such as 1", a.step)
	}
	return a.keep.check(c, &a.stored, args)
}

func (a *calibration) run(c *cobra.Command, args []string) error {
	switch {
	case a.list:
		return a.lists(c)
	case a.use != 0:
		return a.uses(c)
	case a.remove != 0:
		return a.removes(c)
	case a.back != 0:
		return a.bringsBack(c)
	case a.again:
		return a.measuresAgain(c)
	case a.live.points || a.live.check.set || a.live.zero || a.live.tare:
		return a.hangs(c)
	case a.keep.save:
		return a.saves(c, args)
	}
	fit, reason, err := a.read(c, args[0])
	if err != nil {
		return err
	}
	r := fit.Record(reason, a.step)
	if a.json {
		return writeJSON(c.OutOrStdout(), r)
	}
	return writeFit(c.OutOrStdout(), r)
}

// read reads a table of points and fits it.
func (a *calibration) read(c *cobra.Command, table string) (fit calibrate.Fit, reason string, err error) {
	points, err := readPoints(table, c.InOrStdin())
	if err == nil {
		fit, reason, err = a.fit(points)
	}
	if err != nil {
		return fit, "", fmt.Errorf("%s: %w", table, err)
	}
	return fit, reason, nil
}

func (a *calibration) fit(points []calibrate.Point) (calibrate.Fit, string, error) {
	if a.degree == 0 {
		fit, reason, err := calibrate.Propose(points)
		return fit, "proposed: " + reason, err
	}
	fit, err := calibrate.FitCurve(points, a.degree)
	return fit, "as asked for with --degree", err
}

func readPoints(name string, stdin io.Reader) ([]calibrate.Point, error) {
	if name == "-" {
		return calibrate.ReadPoints(stdin)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return calibrate.ReadPoints(f)
}
