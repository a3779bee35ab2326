package main

import (
	"bufio"
	"context"
	"errors"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// storedCell names a cell of a store.
type storedCell struct{ dir, cell, who string }

func (s *storedCell) add(f *pflag.FlagSet) {
	f.StringVar(&s.dir, "data", "", "`directory` of the store")
	f.StringVar(&s.cell, "cell", "", "`name` of the cell; may be left out where the store has one only")
	f.StringVar(&s.who, "by", "", "`name` of who does it, for the journal")
}

// edit opens the store for a change and gives the cell. Close it.
func (s *storedCell) edit(c *cobra.Command) (db *store.Store, cell store.Cell, ctx context.Context, err error) {
	if db, err = openEditor(c, s.dir); err != nil {
		return nil, cell, nil, err
	}
	named := storedFlags{dir: s.dir, cell: s.cell}
	if cell, err = named.named(c.Context(), db); err != nil {
		return nil, cell, nil, errors.Join(err, db.Close())
	}
	return db, cell, store.WithWho(c.Context(), s.who), nil
}

// keepFlags say how a calibration is to be kept.
type keepFlags struct {
	save                bool
	curve, note         string
	from                timeFlag
	certificate         calibrate.Certificate
	within, uncertainty string
}

func (k *keepFlags) add(f *pflag.FlagSet) {
	f.BoolVar(&k.save, "save", false, "keep the calibration for the cell")
	f.StringVar(&k.curve, "curve", "", "with --save, in place of points: newtons from readings, `b0,b1[,b2[,b3]]` of the certificate")
	f.Var(&k.from, "from", "`time` from which on it holds: RFC 3339, or a local 2026-05-17 or 2026-05-17T09:30")
	f.StringVar(&k.note, "note", "", "`text` to keep with it")
	f.StringVar(&k.certificate.Number, "certificate", "", "`number` of the certificate")
	f.StringVar(&k.certificate.By, "certificate-by", "", "`name` of who calibrated")
	f.StringVar(&k.certificate.Date, "certificate-date", "", "`date` of the certificate, as 2026-05-17")
	f.StringVar(&k.certificate.Expires, "certificate-expires", "", "last `day` on which it holds, as 2027-05-17")
	f.StringVar(&k.within, "certificate-range", "", "`forces` between which it holds, as 5kN..100kN")
	f.StringVar(&k.certificate.Class, "certificate-class", "", "`class` that it states")
	f.StringVar(&k.uncertainty, "certificate-uncertainty", "", "half `width` of the 95 % interval that it states, as 0.1%, 50N or 0.1%+20N")
}

// given tells whether something of a certificate was said.
func (k *keepFlags) given() bool {
	return k.certificate != (calibrate.Certificate{}) || k.within != "" || k.uncertainty != ""
}

// check reads what is to be kept with a calibration, where one is to be kept.
func (k *keepFlags) check(c *cobra.Command, s *storedCell, args []string) error {
	keeps := k.save || c.Flags().Changed("use") || c.Flags().Changed("live")
	switch {
	case !keeps:
		return k.unused()
	case s.dir == "":
		return usagef("%s wants the store that keeps the calibrations: add --data DIR", c.CommandPath())
	case k.curve != "" && (len(args) > 0 || !k.save):
		return usagef("--curve is in place of points, with --save: leave out one of both")
	case k.given() && k.certificate.Number == "":
		return usagef("a certificate has a number: add --certificate NUMBER")
	}
	return k.parse()
}

// unused refuses what is of no use where no calibration is to be kept.
func (k *keepFlags) unused() error {
	if k.given() || k.curve != "" || k.note != "" || k.from.set {
		return usagef("what is to be kept with a calibration goes with --save, --use or --live")
	}
	return nil
}

func (k *keepFlags) parse() (err error) {
	if k.within != "" {
		if k.certificate.Low, k.certificate.High, err = calibrate.ParseRange(k.within); err != nil {
			return usagef("--certificate-range: %w", err)
		}
	}
	if k.uncertainty != "" {
		if k.certificate.Relative95, k.certificate.Absolute95, err = calibrate.ParseStated(k.uncertainty); err != nil {
			return usagef("--certificate-uncertainty: %w", err)
		}
	}
	return nil
}

// fill puts what was said of a certificate and of the time into a calibration.
func (k *keepFlags) fill(out *calibrate.Kept) error {
	if k.note != "" {
		out.Note = k.note
	}
	if k.given() {
		out.Certificate = &k.certificate
	}
	switch {
	case k.from.set:
		out.From = k.from.at.UTC().Format(time.RFC3339)
	case k.certificate.Date != "":
		day, err := time.ParseInLocation(time.DateOnly, k.certificate.Date, time.Local)
		if err != nil {
			return usagef("--certificate-date %q: write it as 2026-05-17", k.certificate.Date)
		}
		out.From = day.UTC().Format(time.RFC3339)
	}
	return nil
}

// saves keeps a fit, or the curve of a certificate.
func (a *calibration) saves(c *cobra.Command, args []string) error {
	var k calibrate.Kept
	if a.keep.curve != "" {
		curve, err := calibrate.ParseCurve(a.keep.curve)
		if err != nil {
			return err
		}
		k = calibrate.Kept{Curve: curve, Step: a.step}
	} else {
		fit, reason, err := a.read(c, args[0])
		if err != nil {
			return err
		}
		k = calibrate.Keep(fit, reason, a.step)
	}
	if err := a.keep.fill(&k); err != nil {
		return err
	}
	return a.keeps(c, k)
}

// keeps keeps a calibration and tells what follows.
func (a *calibration) keeps(c *cobra.Command, k calibrate.Kept) (err error) {
	db, cell, ctx, err := a.stored.edit(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	saved, err := db.SaveCalibration(ctx, store.Calibration{Cell: cell.ID, Kept: k})
	if err != nil {
		return err
	}
	return a.tell(c, db, cell, saved)
}

// calibrationKept is a calibration that was kept, as JSON, and what follows.
type calibrationKept struct {
	Cell        string         `json:"cell"`
	Calibration calibrate.Kept `json:"calibration"`
	Stale       int            `json:"pulls_to_measure_again"`
}

// tell says what was kept, and how many pulls are to be measured again.
func (a *calibration) tell(c *cobra.Command, db *store.Store, cell store.Cell, k store.Calibration) error {
	known, err := derive.Of(c.Context(), db, cell)
	if err != nil {
		return err
	}
	stale, err := derive.Stale(c.Context(), db, known)
	if err != nil {
		return err
	}
	if a.json {
		return writeJSON(c.OutOrStdout(), calibrationKept{cell.Name, k.Kept, len(stale)})
	}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	out.say(0, "Cell %s: kept.", cell.Name)
	writeCalibration(out, k, known.History)
	out.stale(len(stale), cell.Name, a.stored.dir)
	return out.end()
}

// stale says that pulls wait for being measured again.
func (l *lines) stale(n int, cell, dir string) {
	if n == 0 {
		return
	}
	l.gap()
	l.say(0, "Measured by what is no longer in force: %s of this cell. To measure again: tautlog calibrate --again --cell '%s' --data '%s'",
		counted(n, "pull"), cell, dir)
}

// writeCalibration writes a kept calibration for a person.
func writeCalibration(out *lines, k store.Calibration, h *calibrate.History) {
	heading := strings.ToUpper(k.Label()[:1]) + k.Label()[1:]
	switch now := h.At(time.Now().UnixNano()); {
	case !k.Removed.IsZero():
		heading += ": removed"
	case now.Number() == k.Number:
		heading += ": in force"
	}
	out.say(0, "%s", heading)
	out.say(2, "holds from %s; kept %s by %s", k.From, k.Made, k.Who)
	if k.Repeats != 0 {
		out.say(2, "it is number %d, chosen again", k.Repeats)
	}
	if k.Fit != nil {
		out.say(2, "degree %d through %s, residual standard deviation %.3g N, lower limit factor %.3g N", k.Fit.Degree, counted(k.Fit.Points, "point"), k.Fit.ResidualSD, k.Fit.LLF)
		if k.Fit.ISO376.Class != "" {
			out.say(2, "ISO 376 class %s (%s)", k.Fit.ISO376.Class, k.Fit.ISO376.Limits)
		}
	}
	if low, high, ok := k.Forces(); ok {
		out.say(2, "from %s to %s", low.Show(unit.DefaultShown, 0), high.Show(unit.DefaultShown, 0))
	}
	writeCertificate(out, k.Certificate)
	if k.Note != "" {
		out.say(2, "%s", k.Note)
	}
}

func writeCertificate(out *lines, c *calibrate.Certificate) {
	if c == nil {
		out.say(2, "no certificate; the uncertainty is that of the points alone")
		return
	}
	text := "certificate " + c.Number
	for _, part := range []struct{ before, what string }{{" by ", c.By}, {" of ", c.Date}, {", holds until ", c.Expires}, {", class ", c.Class}} {
		if part.what != "" {
			text += part.before + part.what
		}
	}
	out.say(2, "%s", text)
	out.say(2, "stated uncertainty, 95 %%: %s", c.States())
	if c.Expired(time.Now().UnixNano()) {
		out.say(2, "It has expired: pulls since then are recorded and flagged.")
	}
}
