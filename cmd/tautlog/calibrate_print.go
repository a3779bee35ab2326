package main

import (
	"bufio"
	"fmt"
	"io"

	"tautlog/calc/calibrate"
)

// writeFit writes a fit for a technician.
func writeFit(w io.Writer, r calibrate.Record) error {
	out := &lines{w: bufio.NewWriter(w)}
	out.say(0, "Curve of degree %d through %d points, readings %g to %g.", r.Degree, r.Points, r.Reading[0], r.Reading[1])
	out.say(2, "Degree %s.", r.DegreeReason)
	out.gap()
	for i, b := range r.Coefficients {
		out.say(2, "b%d = %.10g (standard deviation %.3g)", i, b, r.CoefficientSD[i])
	}
	out.say(2, "Residual standard deviation %.4g N, r² %.9f", r.ResidualSD, r.RSquared)
	out.say(2, "One reading, 95 %%: at most ±%.4g N from the points alone; that of the known forces comes on top.", r.Uncertainty)
	if r.LackOfFit != nil {
		out.say(2, "Lack of fit: chance does as much in %.2g %% of cases.", 100**r.LackOfFit)
	}
	out.gap()
	out.say(0, "ASTM E74: lower limit factor %.4g N.", r.LLF)
	for _, l := range r.Loading {
		if l.Reached {
			out.say(2, "Class %s from %.4g N to %.4g N.", l.Class, l.Low, l.High)
		} else {
			out.say(2, "Class %s not reached: it would begin at %.4g N, the largest force was %.4g N.", l.Class, l.Low, l.High)
		}
	}
	out.gap()
	out.iso376(r.ISO376)
	for _, s := range r.Remarks {
		out.say(0, "%s", s)
	}
	return out.end()
}

func (l *lines) iso376(r calibrate.ISO376Record) {
	l.say(0, "ISO 376 relative errors (formulas and limits %s):", r.Limits)
	for _, e := range []struct {
		name  string
		value *float64
	}{
		{"repeatability", r.Repeatability}, {"reproducibility", r.Reproducibility}, {"interpolation", r.Interpolation},
		{"zero", r.Zero}, {"reversibility", r.Reversibility}, {"resolution", r.Resolution},
	} {
		if e.value != nil {
			l.say(2, "%s %s", e.name, fmt.Sprintf("%.4f %%", *e.value))
		}
	}
	for _, m := range r.Missing {
		l.say(2, "not given: %s", m)
	}
	switch {
	case r.Class != "":
		l.say(2, "Class %s.", r.Class)
	case len(r.Missing) > 0:
		l.say(2, "No class: the series lacks what is listed.")
	default:
		l.say(2, "No class: the errors are above the limits of class 2.")
	}
}
