package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// fillLog is "fill-log DIR": a store whose log holds made-up pulls of an
// invented unit: 24 kinetic ones on six days with all that a fit can use, on
// silt and gravel, then one without a rig, one whose stuck vehicle has no mass,
// one without speed and one that may still go on.
func fillLog(ts *testscript.TestScript, negated bool, args []string) {
	if negated || len(args) != 1 {
		ts.Fatalf("usage: fill-log DIR")
	}
	ts.Check(fillStore(ts.MkAbs(args[0])))
}

func fillStore(dir string) (err error) {
	db, err := store.Open(dir, store.Options{Who: "script"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	l := &logFiller{db: db, random: rand.New(rand.NewPCG(7, 7)), at: time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC)}
	return l.fill()
}

type logFiller struct {
	db     *store.Store
	random *rand.Rand
	at     time.Time
	cell   int64
	day    int64
}

func (l *logFiller) fill() error {
	cell, err := l.db.SaveCell(context.Background(), store.Cell{Name: "River-1", Capacity: 100e3})
	if err != nil {
		return err
	}
	l.cell = cell.ID
	for i := range 6 {
		date := l.at.AddDate(0, 0, 7*i)
		d, err := l.db.SaveDay(context.Background(), store.Day{Date: date.Format(time.DateOnly), Name: "ford drill"})
		if err != nil {
			return err
		}
		l.day, l.at = d.ID, date
		for k := range 4 {
			if err := l.save(l.pull([]string{"Silt", "gravel"}[k%2])); err != nil {
				return err
			}
		}
		l.at = l.at.AddDate(0, 0, -7*i)
	}
	l.at = l.at.AddDate(0, 0, 42)
	return l.odd()
}

// odd saves the pulls with something missing.
func (l *logFiller) odd() error {
	noRig, noMass, noSpeed, open := l.pull("silt"), l.pull("silt"), l.pull("silt"), l.pull("silt")
	noRig.Rig = nil
	noMass.Rig.Stuck.GVM = nil
	noSpeed.Speed = nil
	open.Settled = false
	for i, p := range []store.Pull{noRig, noMass, noSpeed, open} {
		p.Day = 0
		p.Found.Start += int64(i) * 60e9
		p.Found.End += int64(i) * 60e9
		if _, err := l.db.SavePull(context.Background(), p); err != nil {
			return err
		}
	}
	return nil
}

func (l *logFiller) save(p store.Pull) error {
	l.at = l.at.Add(10 * time.Minute)
	_, err := l.db.SavePull(context.Background(), p)
	return err
}

// pull is a kinetic pull with a strap of 6.5 breaking strengths a length, and
// resistances of 0.7 and 0.35 weights.
func (l *logFiller) pull(ground string) store.Pull {
	held := map[bool]float64{true: 0.7, false: 0.35}[ground != "gravel"]
	speed, length := unit.Speed(1.5+2.5*l.random.Float64()), unit.Length(9)
	gvm, weighed := unit.Mass(2800), unit.Mass(3100)
	const mbs = 100e3
	motion, err := kinetic.Solve(kinetic.Pull{
		Puller: weighed, Stuck: gvm, Speed: speed, Resistance: unit.Force(held) * gvm.Weight(),
		Line: kinetic.Line{Curve: kinetic.Linear(6.5 * mbs / float64(length))},
	}, kinetic.Options{})
	if err != nil {
		panic(err)
	}
	peak := motion.Peak * unit.Force(math.Exp(0.03*l.random.NormFloat64()))
	start := l.at.UnixNano()
	return store.Pull{
		Cell: l.cell, Day: l.day, Ground: ground, Speed: &speed, Settled: true,
		Found: pull.Pull{
			Start: start, End: start + 2e9, Kind: pull.Kinetic, Peak: peak, PeakAt: start + 4e8, PeakLow: peak * 0.99, PeakHigh: peak * 1.01,
			Flags: []string{}, ToPeak: float64(weighed) * float64(speed) * 0.9,
		},
		Rig: &rig.Rig{
			Name: "drill", Pulling: gear.Vehicle{Name: "Heron", Weighed: &weighed}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm},
			Chain: []rig.Link{
				rig.InLine(gear.Item{Name: "Heron rear point", Kind: gear.RecoveryPoint, Vehicle: "Heron"}),
				rig.InLine(gear.Item{Name: "red rope", Kind: gear.KineticRope, Length: &length, Ratings: []gear.Rating{{Value: mbs, Basis: gear.MBS}}}),
				rig.InLine(gear.Item{Name: "River-1", Kind: gear.LoadCell}),
				rig.InLine(gear.Item{Name: "Otter front point", Kind: gear.RecoveryPoint, Vehicle: "Otter"}),
			},
		},
	}
}

// TestFilledLogIsARealOne: the store of the scripts is whole.
func TestFilledLogIsARealOne(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, fillStore(dir))
	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.Integrity(t.Context()))
	all, err := db.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, all, 28)
}

// TestPullsThatOverlapAreRemarkedOn: two cells in one line give two pulls of
// one jerk, which no fit can know.
func TestPullsThatOverlapAreRemarkedOn(t *testing.T) {
	t.Parallel()
	at := func(id string, start, end int64) shock.Logged {
		return shock.Logged{ID: id, Found: pull.Pull{Start: start, End: end}}
	}
	var out strings.Builder
	remarkOnLog(&out, []shock.Logged{at("pull 1", 0, 10), at("pull 2", 10, 20), at("pull 3", 15, 25)}, nil)
	require.Equal(t, "pull 2 and pull 3 overlap in time: if two cells measured one pull, choose one with --cell, or it counts twice\n", out.String())

	var many []shock.Logged
	for i := range int64(20) {
		many = append(many, at(fmt.Sprintf("pull %d", i+1), 100*(i/2), 100*(i/2)+50))
	}
	out.Reset()
	remarkOnLog(&out, many, nil)
	require.Equal(t, 1, strings.Count(out.String(), "\n"), "one line, however many there are")
	require.Contains(t, out.String(), "pull 1 and pull 2, pull 3 and pull 4")
	require.Contains(t, out.String(), "and 2 more overlap in time")
}
