package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// liveFlags say what to do with the line as it hangs.
type liveFlags struct {
	points     bool
	zero, tare bool
	check      forceText
	known95    unit.Force
	port       string
	wait       time.Duration
}

// forceText is a flag with a force that may be zero.
type forceText struct {
	force unit.Force
	set   bool
}

// Set reads the value.
func (f *forceText) Set(s string) (err error) {
	f.set = true
	return forceFlag{&f.force}.Set(s)
}

// String prints the value.
func (f *forceText) String() string {
	if f == nil || !f.set {
		return ""
	}
	return f.force.String()
}

// Type names the kind of value in the help.
func (f *forceText) Type() string { return "force" }

func (l *liveFlags) add(f *pflag.FlagSet) {
	f.BoolVar(&l.points, "live", false, "take points as the known loads hang: see below")
	f.BoolVar(&l.zero, "zero", false, "take the slack line as zero from now on")
	f.BoolVar(&l.tare, "tare", false, "take off from now on what hangs on the cell")
	f.Var(&l.check, "check", "known `force` that hangs on the cell now, 0N for a slack line: hold it against the calibration")
	f.Var(forceFlag{&l.known95}, "check-uncertainty", "half `width` of the 95 % interval of that force")
	f.StringVar(&l.port, "port", "", "`port` to record the cell at meanwhile, where no other tautlog does")
	f.DurationVar(&l.wait, "wait", time.Minute, "`time` to wait for a steady reading")
}

// scale is a cell whose readings come in.
type scale struct {
	db   *store.Store
	cell derive.Cell
	ctx  context.Context
	wait time.Duration
	stop func() error // ends the recording that was begun for it
}

// pause is how often the readings are looked at.
const pause = 100 * time.Millisecond

// scale opens the cell of the store, and records it where a port was given.
// What another tautlog records into the same store comes in as well.
func (a *calibration) scale(c *cobra.Command) (*scale, error) {
	db, cell, ctx, err := a.openScale(c)
	if err != nil {
		return nil, err
	}
	s := &scale{db: db, ctx: ctx, wait: a.live.wait, stop: func() error { return nil }}
	if s.cell, err = derive.Of(ctx, db, cell); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	if a.live.port == "" {
		return s, nil
	}
	cell.Line.Path = a.live.port
	recording, cancel := context.WithCancel(ctx)
	recorder := record.New(record.Config{Store: db, Cells: []store.Cell{cell}, Log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: slog.LevelWarn}))})
	ended := make(chan error, 1)
	go func() { ended <- recorder.Run(recording) }()
	s.stop = func() error { cancel(); return <-ended }
	return s, nil
}

// openScale opens the store: as a recorder's, where a port was given.
func (a *calibration) openScale(c *cobra.Command) (*store.Store, store.Cell, context.Context, error) {
	if a.live.port == "" {
		return a.stored.edit(c)
	}
	db, err := store.Open(a.stored.dir, store.Options{Who: c.CommandPath()})
	if err != nil {
		return nil, store.Cell{}, nil, err
	}
	cell, err := (&storedFlags{dir: a.stored.dir, cell: a.stored.cell}).named(c.Context(), db)
	if err != nil {
		return nil, cell, nil, errors.Join(err, db.Close())
	}
	return db, cell, store.WithWho(c.Context(), a.stored.who), nil
}

func (s *scale) close() error { return errors.Join(s.stop(), s.db.Close()) }

// steady waits for a steady reading that began after now.
func (s *scale) steady() (calibrate.Steadiness, error) {
	begun := time.Now()
	look := time.NewTicker(pause)
	defer look.Stop()
	for {
		got, err := derive.Steady(s.ctx, s.db, s.cell, time.Now(), begun.UnixNano())
		switch {
		case err != nil || got.Steady:
			return got, err
		case time.Since(begun) > s.wait:
			return got, fmt.Errorf("no steady reading of cell %s within %v: %s", s.cell.Name, s.wait, got.Why)
		}
		select {
		case <-s.ctx.Done():
			return got, s.ctx.Err()
		case <-look.C:
		}
	}
}

// hangs does what was asked for with the line as it hangs.
func (a *calibration) hangs(c *cobra.Command) (err error) {
	s, err := a.scale(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.close()) }()
	if a.live.points {
		return a.takesPoints(c, s)
	}
	got, err := s.steady()
	if err != nil {
		return err
	}
	if a.live.check.set {
		k, err := s.cell.MakeCheck(s.ctx, s.db, got, a.live.check.force, a.live.known95)
		if err != nil {
			return err
		}
		return a.writeChecked(c, s, k)
	}
	kind := calibrate.Slack
	if a.live.tare {
		kind = calibrate.Tare
	}
	z, err := s.cell.SetZero(s.ctx, s.db, got, kind)
	if err != nil {
		return err
	}
	if s.cell, err = derive.Of(s.ctx, s.db, s.cell.Cell); err != nil {
		return err
	}
	return a.writeZeroed(c, s, z, got)
}

// checkRecord is a check as JSON.
type checkRecord struct {
	Cell string `json:"cell"`
	calibrate.Check
	Off   float64 `json:"off_N"`
	Fault bool    `json:"fault"`
	Says  string  `json:"says"`
}

func (a *calibration) writeChecked(c *cobra.Command, s *scale, k store.Check) error {
	if a.json {
		return writeJSON(c.OutOrStdout(), checkRecord{s.cell.Name, k.Check, float64(k.Off()), k.Fault(), k.Says(unit.DefaultShown)})
	}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	out.say(0, "Cell %s. %s", s.cell.Name, k.Says(unit.DefaultShown))
	return out.end()
}

func (a *calibration) writeZeroed(c *cobra.Command, s *scale, z store.Zero, got calibrate.Steadiness) error {
	if a.json {
		return writeJSON(c.OutOrStdout(), z.Zero)
	}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	out.say(0, "Cell %s: %s set. Reading %.6g is taken off from now on, %s by the calibration in force (%s).",
		s.cell.Name, z.Kind, z.Reading, s.cell.History.At(z.At).Off().Show(unit.DefaultShown, 1), got.Why)
	out.say(0, "Readings are stored as they come. Take it back on the page of the cell.")
	return out.end()
}

// takesPoints takes points as a person says what hangs.
func (a *calibration) takesPoints(c *cobra.Command, s *scale) error {
	d, err := s.db.Draft(s.ctx, s.cell.ID)
	if err != nil {
		return err
	}
	t := &taking{a: a, s: s, out: c.OutOrStdout(), draft: d, run: "1"}
	fmt.Fprintf(t.out, "Cell %s. Hang a known load, write it with its unit (0N, 5kN) and press Enter.\nAlso: undo, run NAME, save, end.\n", s.cell.Name)
	if n := len(d.Points); n > 0 {
		fmt.Fprintf(t.out, "%s were taken earlier.\n", counted(n, "point"))
		t.run = d.Points[n-1].Run
		t.show()
	}
	in := bufio.NewScanner(c.InOrStdin())
	for in.Scan() {
		if done, err := t.heed(c, strings.TrimSpace(in.Text())); done || err != nil {
			return err
		}
	}
	fmt.Fprintf(t.out, "The points are kept; go on with them by the same command.\n")
	return in.Err()
}

// taking is a conversation in which points are taken.
type taking struct {
	a     *calibration
	s     *scale
	out   io.Writer
	draft store.Draft
	run   string
}

// heed does what was typed. It is done when the points are saved or the person
// has had enough.
func (t *taking) heed(c *cobra.Command, typed string) (done bool, err error) {
	word, rest, _ := strings.Cut(typed, " ")
	switch word {
	case "":
		return false, nil
	case "end":
		fmt.Fprintf(t.out, "The points are kept; go on with them by the same command.\n")
		return true, nil
	case "undo":
		d, err := derive.UndoPoint(t.s.ctx, t.s.db, t.draft)
		return false, t.taken(d, err)
	case "run":
		t.run = strings.TrimSpace(rest)
		fmt.Fprintf(t.out, "Points from now on are of run %q.\n", t.run)
		return false, nil
	case "save":
		return t.save(c)
	}
	known, err := unit.ParseForce(typed)
	if err != nil || known < 0 {
		fmt.Fprintf(t.out, "%q is not understood: write a force with its unit, or undo, run NAME, save, end.\n", typed)
		return false, nil
	}
	got, err := t.s.steady()
	if err != nil {
		if t.s.ctx.Err() == nil {
			fmt.Fprintf(t.out, "Not taken: %v.\n", err)
			err = nil
		}
		return false, err
	}
	d, err := t.s.cell.TakePoint(t.s.ctx, t.s.db, t.draft, got, known, t.run)
	if err == nil {
		fmt.Fprintf(t.out, "Taken: %s reads %.6g (%s).\n", known, got.Mean, got.Why)
	}
	return false, t.taken(d, err)
}

// taken shows the points after a change; what was refused is said.
func (t *taking) taken(d store.Draft, err error) error {
	if errors.Is(err, derive.ErrNotTaken) {
		fmt.Fprintf(t.out, "%v\n", err)
		return nil
	}
	if err != nil {
		return err
	}
	t.draft = d
	t.show()
	return nil
}

// show tells the fit as far as there is one.
func (t *taking) show() {
	fit, reason, err := t.a.fit(t.draft.PointsOf())
	if err != nil {
		fmt.Fprintf(t.out, "%s; no curve yet: %v.\n", counted(len(t.draft.Points), "point"), err)
		return
	}
	fmt.Fprintf(t.out, "%s, degree %d, residual standard deviation %.3g N, at most ±%.3g N (95 %%).\nDegree %s.\n",
		counted(len(t.draft.Points), "point"), fit.Degree(), float64(fit.ResidualSD), float64(fit.Absolute95()), reason)
}

// save keeps the points as a calibration.
func (t *taking) save(c *cobra.Command) (done bool, err error) {
	fit, reason, err := t.a.fit(t.draft.PointsOf())
	if err != nil {
		fmt.Fprintf(t.out, "Not saved: %v.\n", err)
		return false, nil
	}
	k := calibrate.Keep(fit, reason, 1)
	if err := t.a.keep.fill(&k); err != nil {
		return false, err
	}
	saved, err := t.s.db.SaveCalibration(t.s.ctx, store.Calibration{Cell: t.s.cell.ID, Kept: k})
	if err != nil {
		return false, err
	}
	t.draft.Points = nil
	if _, err := t.s.db.SaveDraft(t.s.ctx, t.draft); err != nil {
		return false, err
	}
	return true, t.a.tell(c, t.s.db, t.s.cell.Cell, saved)
}
