package web_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"
)

// clubSize is how large a made-up club is.
type clubSize struct{ items, vehicles, rigs, pulls, days int }

// largeClub is the size that the pages are measured with.
var largeClub = clubSize{items: 10_000, vehicles: 200, rigs: 1000, pulls: 100_000, days: 1000}

// clubMarker stands in a directory that was filled to the end.
const clubMarker = "filled-1"

// clubIn opens the store of a large club in the directory that TAUTLOG_CLUB
// names, and fills it where that was not done yet: some minutes. Without the
// variable it is filled for this run only.
func clubIn(tb testing.TB) *store.Store {
	tb.Helper()
	dir := os.Getenv("TAUTLOG_CLUB")
	if dir == "" {
		dir = tb.TempDir()
	}
	done := filepath.Join(dir, clubMarker)
	_, err := os.Stat(done)
	filled := err == nil
	s, err := store.Open(dir, store.Options{Now: clubNow})
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, s.Close()) })
	if !filled {
		fillClub(tb, s, largeClub)
		require.NoError(tb, os.WriteFile(done, nil, 0o640))
	}
	return s
}

// clubNow is the clock of a club: a minute after the readings begin.
func clubNow() time.Time { return start.Add(time.Minute) }

var clubGrounds = []string{"clay", "gravel", "mud", "peat", "river bar", "sand", "snow", "wet grass"}

// clubItem is the i-th item of the register: every hundredth is overdue, every
// tenth has a rule of its owner, every fiftieth is retired.
func clubItem(i int) gear.Item {
	kinds := []gear.Kind{gear.RecoveryStrap, gear.BowShackle, gear.RecoveryPoint, gear.SoftShackle, gear.KineticRope}
	twelve, length, most := 12, unit.Length(8+i%3), 2000
	it := gear.Item{
		ID: fmt.Sprintf("i%05d", i), Name: fmt.Sprintf("%s %d", kinds[i%5], i), Kind: kinds[i%5], Made: "2024-05", Notes: "bought for the training on the river bar",
		Ratings: []gear.Rating{
			{Value: unit.Force(40_000 + i), Basis: gear.WLL, Direction: gear.Direction{Rule: gear.AnyDirection}},
			{Value: unit.Force(100_000 + i), Basis: gear.MBS, Direction: gear.Direction{Rule: gear.AnyDirection}},
		},
		Life: gear.Life{InspectEvery: &twelve, Inspections: []gear.Inspection{{Date: "2025-09-01", Result: gear.InOrder}}},
	}
	if it.Kind == gear.RecoveryStrap || it.Kind == gear.KineticRope {
		it.Length = &length
	}
	switch {
	case i%100 == 99:
		it.Inspections[0].Date = "2024-09-01"
	case i%50 == 48:
		it.Retired = &gear.Withdrawal{Date: "2025-11-02", Reason: "worn through at an eye"}
	case i%10 == 7:
		it.RetireRule = &gear.RetireRule{MaxPulls: &most}
	}
	return it
}

func clubVehicle(i int) gear.Vehicle {
	gvm := unit.Mass(2400 + 40*float64(i%50))
	v := gear.Vehicle{Name: fmt.Sprintf("truck %03d", i), GVM: &gvm}
	if i%3 == 0 {
		weighed := gvm - 150
		v.Weighed = &weighed
	}
	return v
}

// clubRig is point, shackle, cell, strap or rope, soft shackle and point; rig
// 0 to 9 share one strap, which so has a thousand pulls.
func clubRig(i int, size clubSize) rig.Rig {
	straight := unit.Degrees(0)
	of := func(n int) rig.Link {
		l := rig.InLine(clubItem(n % size.items))
		if l.Use.Item.Kind.Fixed() {
			l.OffAxis = &rig.OffAxis{Horizontal: &straight, Vertical: &straight}
		}
		return l
	}
	tens := 10 * i
	strap := tens
	switch {
	case i < 10:
		strap = 0
	case i%2 == 1:
		strap = tens + 4
	}
	return rig.Rig{
		Name: fmt.Sprintf("rig %04d", i), Pulling: clubVehicle(i % size.vehicles), Stuck: clubVehicle((i*7 + 3) % size.vehicles),
		Chain: []rig.Link{
			of(tens + 2), of(tens + 1), rig.InLine(gear.Item{ID: "c1", Name: "River-1", Kind: gear.LoadCell, Ratings: []gear.Rating{{Value: 100_000, Basis: gear.WLL}}}),
			of(strap), of(tens + 3), of(tens + 7),
		},
	}
}

// clubPull is the n-th pull of a club, the earliest first: a hundred a day,
// every other day, three minutes apart.
func clubPull(n int, size clubSize, cell int64, days []store.Day, r *rand.Rand) store.Pull {
	perDay := size.pulls / size.days
	day, of := n/perDay, n%perDay
	g := clubRig(r.IntN(size.rigs), size)
	begin := start.AddDate(0, 0, -2*(size.days-1-day)).Add(time.Duration(of-perDay)*3*time.Minute + 4*time.Minute)
	p := found()
	shift := begin.UnixNano() - start.UnixNano()
	p.Start, p.End, p.PeakAt = p.Start+shift, p.End+shift, p.PeakAt+shift
	p.Kind = []pull.Kind{pull.Kinetic, pull.Kinetic, pull.Steady, pull.Kinetic, pull.Proof}[n%5]
	p.Flags, p.Remarks = nil, nil
	out := store.Pull{Cell: cell, Day: days[day].ID, Rig: &g, Ground: clubGrounds[r.IntN(len(clubGrounds))], Settled: true, By: store.Derived{Calibration: 1}}
	speed := 1 + 2*r.Float64()
	factor := 0.5
	if p.Kind == pull.Kinetic {
		factor = 0.75 * speed
	}
	if p.Kind == pull.Kinetic && n%3 > 0 {
		v := unit.Speed(speed)
		out.Speed = &v
	}
	factor *= math.Exp(0.12*r.NormFloat64() + 0.1*math.Sin(float64(day)) + 0.03*float64(slices.Index(clubGrounds, out.Ground)))
	p.Peak = unit.Force(factor) * g.Stuck.GVM.Weight()
	p.PeakLow, p.PeakHigh, p.PeakReading, p.PeakFiltered = p.Peak*0.99, p.Peak*1.02, p.Peak, p.Peak
	switch {
	case n%197 == 0:
		p.Flags, p.Remarks = []string{pull.FlagOverload}, []string{"The cell was at its end."}
	case n%211 == 0:
		out.Rig = nil
	}
	out.Found = p
	return out
}

// fillClub fills an empty store.
func fillClub(tb testing.TB, s *store.Store, size clubSize) {
	tb.Helper()
	ctx, began := context.Background(), time.Now()
	var reg store.Register
	for i := range size.items {
		reg.Items = append(reg.Items, clubItem(i))
	}
	for i := range size.vehicles {
		reg.Vehicles = append(reg.Vehicles, clubVehicle(i))
	}
	for i := range size.rigs {
		reg.Rigs = append(reg.Rigs, clubRig(i, size))
	}
	_, err := s.SaveRegister(ctx, reg, false)
	require.NoError(tb, err)
	cell := clubCell(tb, s)
	var days []store.Day
	for i := range size.days {
		date := start.AddDate(0, 0, -2*(size.days-1-i)).Format(time.DateOnly)
		d, err := s.SaveDay(ctx, store.Day{Date: date, Name: fmt.Sprintf("training %04d", i), Place: "river bar"})
		require.NoError(tb, err)
		days = append(days, d)
	}
	_, err = s.SetSetup(ctx, store.Setup{Cell: cell, Day: days[size.days-1].ID, Rig: 2, Ground: "mud"})
	require.NoError(tb, err)
	r := rand.New(rand.NewPCG(1, 2))
	const portion = 5000
	for from := 0; from < size.pulls; from += portion {
		var ps []store.Pull
		for n := from; n < min(from+portion, size.pulls); n++ {
			ps = append(ps, clubPull(n, size, cell, days, r))
		}
		_, err = s.SavePulls(ctx, ps)
		require.NoError(tb, err)
	}
	keepClubSets(tb, s)
	tb.Logf("filled in %v", time.Since(began).Round(time.Second))
}

// clubCell is a cell with a calibration from points, and the ten seconds of
// readings of the last pull.
func clubCell(tb testing.TB, s *store.Store) int64 {
	tb.Helper()
	ctx := context.Background()
	c, err := s.SaveCell(ctx, store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 200_000, Rate: 1000})
	require.NoError(tb, err)
	var points []calibrate.Point
	for run := 1; run <= 3; run++ {
		for i := range 6 {
			kN := float64(20 * i)
			points = append(points, calibrate.Point{Reading: 1000*kN + float64((i*run*7)%5), Force: unit.Force(1000 * kN), Run: fmt.Sprint(run)})
		}
	}
	fit, err := calibrate.FitCurve(points, 1)
	require.NoError(tb, err)
	kept := calibrate.Keep(fit, "said in advance", 1)
	kept.From = "2019-01-01T00:00:00Z"
	_, err = s.SaveCalibration(ctx, store.Calibration{Cell: c.ID, Kept: kept})
	require.NoError(tb, err)
	require.NoError(tb, s.Append(ctx, []store.Run{{Cell: c.ID, Start: start.UnixNano(), Step: 1e6, Raw: pulse()}}))
	return c.ID
}

// keepClubSets keeps a set that was assumed, five of some hundred pulls, and
// one of all, which is planned with.
func keepClubSets(tb testing.TB, s *store.Store) {
	tb.Helper()
	ctx := context.Background()
	log, err := s.Logged(ctx, store.PullFilter{}, time.UTC)
	require.NoError(tb, err)
	var pulls []shock.Pull
	for _, l := range log {
		pulls = append(pulls, shock.FromLog(l))
	}
	_, err = s.SaveSet(ctx, shock.Kept{Name: "handbook", Assumed: []shock.Assumption{{Class: shock.ClassName{Kind: pull.Kinetic}, Multiplier: 3, Source: "the rule of the club"}}})
	require.NoError(tb, err)
	for i := range 5 {
		_, err = s.SaveSet(ctx, shock.Keep("river bar", pulls[:min(len(pulls), 100*(i+1))]))
		require.NoError(tb, err)
	}
	_, err = s.SaveSet(ctx, shock.Keep("all years", pulls))
	require.NoError(tb, err)
	_, err = s.PlanWith(ctx, "all years", 0)
	require.NoError(tb, err)
	keepClubPlan(tb, s)
}

// kineticPlan is a filled-in form of a kinetic pull with rig 5.
var kineticPlan = url.Values{"rig": {"rig 0005"}, "speed": {"8 km/h"}, "resistance": {"12 kN"}, "ground": {"mud"}, "elongation": {"20 %"}, "plan": {"1"}}

// keepClubPlan keeps a plan, as a person does: with the pages.
func keepClubPlan(tb testing.TB, s *store.Store) {
	tb.Helper()
	f := clubPages(tb, s)
	res := f.ask("POST", "/plan/kinetic/keep", url.Values{"token": {f.token(tb)}, "name": {"the ford"}, "inputs": {withRig(kineticPlan, "rig 0001").Encode()}}, nil)
	require.Equal(tb, http.StatusSeeOther, res.StatusCode, read(tb, res))
}

// clubPages are the pages over a club, just started, as a daemon without Run.
func clubPages(tb testing.TB, s *store.Store) *fixture {
	tb.Helper()
	pages, err := web.New(web.Config{Store: s, Zone: time.UTC, Now: clubNow})
	require.NoError(tb, err)
	return &fixture{store: s, pages: pages}
}

// clubRuns starts the pages over a club as a daemon does.
func clubRuns(tb testing.TB, s *store.Store) *fixture {
	tb.Helper()
	f := clubPages(tb, s)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- f.pages.(*web.Pages).Run(ctx) }()
	tb.Cleanup(func() {
		stop()
		require.NoError(tb, <-ended)
	})
	return f
}
