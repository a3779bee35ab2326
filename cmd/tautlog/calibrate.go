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
}

// newCalibrate fits a calibration curve to points.
func newCalibrate() *cobra.Command {
	a := &calibration{}
	c := &cobra.Command{
		Use:   "calibrate POINTS.csv",
		Short: "Fit a calibration curve and say how well it holds",
		Long: `Fits newtons to the readings of a cell under known forces. The table has the
columns reading and force_N (or force_kN, force_kgf, force_lbf, force_t) and, if
known, run and direction (up or down). "-" reads standard input.

Without --degree a degree is proposed, with the reason. The lower limit factor
and the loading ranges are those of ASTM E74. Relative errors follow ISO 376,
with formulas and limits from memory; they need runs named in the column run,
the first two without turning the cell and the third and fourth turned.`,
		Example: "  tautlog calibrate POINTS.csv\n  tautlog calibrate --degree 2 --json POINTS.csv",
		Args:    a.check,
		RunE:    a.run,
	}
	f := c.Flags()
	f.IntVar(&a.degree, "degree", 0, "`degree` of the curve, 1 to 3; proposed when not given")
	f.Float64Var(&a.step, "step", 0, "one `step` of the reading, for the resolution by ISO 376; unknown when 0")
	f.BoolVar(&a.json, "json", false, "print one JSON document")
	return c
}

func (a *calibration) check(c *cobra.Command, args []string) error {
	switch {
	case len(args) != 1:
		return usagef("%s wants one table of points, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	case c.Flags().Changed("degree") && (a.degree < 1 || a.degree > 3):
		return usagef("--degree %d: give 1, 2 or 3", a.degree)
	case !(a.step >= 0):
		return usagef("--step %g: give a number above zero, such as 1", a.step)
	}
	return nil
}

func (a *calibration) run(c *cobra.Command, args []string) error {
	points, err := readPoints(args[0], c.InOrStdin())
	if err != nil {
		return fmt.Errorf("%s: %w", args[0], err)
	}
	fit, reason, err := a.fit(points)
	if err != nil {
		return fmt.Errorf("%s: %w", args[0], err)
	}
	r := fitRecordOf(fit, reason, a.step)
	if a.json {
		return writeJSON(c.OutOrStdout(), r)
	}
	return writeFit(c.OutOrStdout(), r)
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

// fitRecord is the JSON form of a fit. Forces are in newtons.
type fitRecord struct {
	Degree        int             `json:"degree"`
	DegreeReason  string          `json:"degree_reason"`
	Coefficients  []float64       `json:"coefficients"`
	CoefficientSD []float64       `json:"coefficient_sd"`
	Covariance    [][]float64     `json:"covariance"`
	ResidualSD    float64         `json:"residual_sd_N"`
	RSquared      float64         `json:"r_squared"`
	LLF           float64         `json:"llf_N"`
	Points        int             `json:"points"`
	Uncertainty   float64         `json:"uncertainty_95_N"` // the largest within the range
	Reading       [2]float64      `json:"reading_range"`
	Monotone      bool            `json:"monotone"`
	LackOfFit     *float64        `json:"lack_of_fit_p"` // null where no force was applied twice
	Loading       []loadingRecord `json:"loading_ranges"`
	ISO376        iso376Record    `json:"iso_376"`
	Remarks       []string        `json:"remarks"`
}

type loadingRecord struct {
	Class   string  `json:"class"`
	Low     float64 `json:"low_N"`
	High    float64 `json:"high_N"`
	Reached bool    `json:"reached"`
}

// iso376Record has errors in percent, null where the series allows none.
type iso376Record struct {
	Repeatability   *float64 `json:"repeatability_percent"`
	Reproducibility *float64 `json:"reproducibility_percent"`
	Interpolation   *float64 `json:"interpolation_percent"`
	Zero            *float64 `json:"zero_percent"`
	Reversibility   *float64 `json:"reversibility_percent"`
	Resolution      *float64 `json:"resolution_percent"`
	Class           string   `json:"class"` // empty: none
	Missing         []string `json:"missing"`
	Limits          string   `json:"limits"`
}

func fitRecordOf(f calibrate.Fit, reason string, step float64) fitRecord {
	e := f.RelativeErrors(step)
	r := fitRecord{
		Degree: f.Degree(), DegreeReason: reason, Coefficients: f.Coefficients, CoefficientSD: f.CoefficientSD(),
		Covariance: f.Covariance, ResidualSD: float64(f.ResidualSD), RSquared: f.RSquared, LLF: float64(f.LLF()),
		Points: len(f.Points), Uncertainty: float64(f.Absolute95()), Monotone: f.Monotone(), Remarks: remarksOn(f),
		ISO376: iso376Record{
			Repeatability: e.Repeatability, Reproducibility: e.Reproducibility, Interpolation: e.Interpolation, Zero: e.Zero,
			Reversibility: e.Reversibility, Resolution: e.Resolution, Class: e.Class,
			Missing: append([]string{}, e.Missing...), Limits: "from memory of ISO 376:2011, to be checked against the standard",
		},
	}
	r.Reading[0], r.Reading[1] = f.Readings()
	if f.Lack != nil {
		r.LackOfFit = &f.Lack.P
	}
	for _, l := range f.LoadingRanges() {
		r.Loading = append(r.Loading, loadingRecord{l.Class, float64(l.Low), float64(l.High), l.Reached})
	}
	return r
}

func remarksOn(f calibrate.Fit) []string {
	low, high := f.Readings()
	out := []string{fmt.Sprintf("Outside readings %g to %g the curve is extrapolated.", low, high)}
	if n := len(f.Points); n < calibrate.LeastPointsE74 {
		out = append(out, fmt.Sprintf("ASTM E74 wants at least %d points; there are %d.", calibrate.LeastPointsE74, n))
	}
	if !f.Monotone() {
		out = append(out, "The curve turns around within the points: choose a lower degree, or look for a wrong point.")
	}
	if f.Misfit() {
		out = append(out, "Repeated points lie further from the curve than their scatter explains; the uncertainty is widened by that.")
	}
	return out
}
