package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// savedCell is what a person adds to what was heard, so that the recorder can
// use the cell.
type savedCell struct {
	name, data, curve string
	capacity          unit.Force
	relative          float64 // percent
}

func (s *savedCell) add(f *pflag.FlagSet) {
	f.StringVar(&s.name, "save", "", "set the cell up under this `name`, read by the first proposal")
	f.StringVar(&s.data, "data", defaultData(), "directory of the store; made when missing")
	f.Var(forceFlag{&s.capacity}, "capacity", "rated capacity of the cell, such as 100kN; unknown when not given")
	f.StringVar(&s.curve, "curve", "", "newtons from counts, `b0,b1[,b2[,b3]]` of the calibration; needed where the cell sends counts")
	f.Float64Var(&s.relative, "uncertainty-percent", 0, "half `width` of the 95 % interval of the force on the certificate, in percent; unknown when 0")
}

// save writes the cell to the store, by the way of reading it that was
// proposed first.
func (s *savedCell) save(ctx context.Context, h *hearing, w io.Writer) (err error) {
	proposals := h.proposals()
	if len(proposals) == 0 {
		return fmt.Errorf("cell %s was not set up: nothing on %s could be read as text or packed frames; try another --baud", s.name, h.line.Path)
	}
	config := proposals[0].Config
	curve, err := s.forceFrom(config)
	if err != nil {
		return err
	}
	st, err := store.Open(s.data, store.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	saved, err := st.SaveCell(ctx, store.Cell{
		Name: s.name, Line: h.line, Wire: config, Curve: curve, Capacity: s.capacity,
		Rate: nominal(h.rate(proposals[0].Stats.Readings)),
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "\ncell %s is set up in %s: %s, about %g readings a second\nrecord it: tautlog serve --data %s --cell %s=%s\n",
		saved.Name, s.data, config.Describe(), saved.Rate, s.data, saved.Name, h.line.Path)
	return err
}

// forceFrom is the curve from readings to newtons: of the unit that the cell
// sends, or as given for counts.
func (s *savedCell) forceFrom(c wire.Config) (calibrate.Curve, error) {
	relative := s.relative / 100
	if s.curve != "" {
		curve, err := parseCurve(s.curve)
		curve.Relative95 = relative
		return curve, errors.Join(err, curve.Validate())
	}
	u, err := unit.ParseForceUnit(c.Text.Unit)
	if c.Format != wire.Text || err != nil {
		return calibrate.Curve{}, fmt.Errorf("cell %s sends counts: add --curve b0,b1 from its calibration, newtons = b0 + b1·counts", s.name)
	}
	curve := calibrate.Line(u, c.Text.Decimals)
	curve.Relative95 = relative
	return curve, curve.Validate()
}

func parseCurve(s string) (c calibrate.Curve, err error) {
	for _, part := range strings.Split(s, ",") {
		b, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return c, fmt.Errorf("--curve %q: %q is not a number; write b0,b1 as in --curve -3248,4", s, part)
		}
		c.Coefficients = append(c.Coefficients, b)
	}
	return c, nil
}

// nominal rounds a measured rate to two digits, as instruments are set: what
// is heard in some seconds is not known better.
func nominal(rate float64) float64 {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(rate))-1)
	return math.Round(rate/step) * step
}
