package store

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/life"
	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// What the store of the register's benchmark holds, all of it made up.
const (
	benchItems    = 10_000
	benchRigs     = 1000
	benchVehicles = 200
	benchPulls    = 100_000
)

// benchItem is an item of the register; number 0 is a strap in ten rigs.
func benchItem(i int) gear.Item {
	kinds := []gear.Kind{gear.RecoveryStrap, gear.BowShackle, gear.RecoveryPoint, gear.SoftShackle}
	two := 2.0
	return gear.Item{
		ID: fmt.Sprintf("g%05d", i), Name: fmt.Sprintf("%s %d", kinds[i%4], i), Kind: kinds[i%4], Made: "2024-03", Serial: fmt.Sprintf("SN-%d", i*7919),
		Ratings: []gear.Rating{{Value: unit.Force(40e3 + float64(i%60)*1e3), Basis: gear.MBS, DesignFactor: &two, FactorFrom: gear.FactorOwner}},
		Notes:   "kept in box " + fmt.Sprint(i%37),
	}
}

// benchRig is cell, strap, shackle and a bridle of two points.
func benchRig(i int) rig.Rig {
	strap := 4 * i % benchItems
	if i < 10 {
		strap = 0
	}
	use := func(n int) rig.Use { return rig.Use{Item: benchItem(n % benchItems)} }
	return rig.Rig{
		Name: fmt.Sprintf("rig %04d", i), Pulling: gear.Vehicle{Name: fmt.Sprintf("truck %d", i%benchVehicles)},
		Stuck: gear.Vehicle{Name: fmt.Sprintf("truck %d", (i+7)%benchVehicles)},
		Chain: []rig.Link{
			rig.InLine(gear.Item{Name: "cell", Kind: gear.LoadCell}), rig.InLine(benchItem(strap)), rig.InLine(benchItem((4*i + 1) % benchItems)),
			{Bridle: &rig.Bridle{Included: 1, Left: []rig.Use{use(4*i + 2)}, Right: []rig.Use{use(4*i + 6)}}},
		},
	}
}

// benchPull is a pull of a log of years, ten seconds apart.
func benchPull(cell int64, i int) Pull {
	r := benchRig(i % benchRigs)
	p := Pull{Cell: cell, Rig: &r, Found: foundAt(morning+int64(i)*10*second, morning+int64(i)*10*second+3*second), Settled: true}
	p.Found.Peak = unit.Force(8e3 + float64(i%977)*20)
	p.Found.PeakLow, p.Found.PeakHigh = p.Found.Peak*0.98, p.Found.Peak*1.06
	p.Kind = []pull.Kind{pull.Kinetic, pull.Steady, pull.Kinetic, pull.Proof}[i%4]
	p.Ground = []string{"clay", "sand", "gravel", "mud", "rock"}[i%5]
	return p
}

// inParts runs f for 0 to n in transactions of some thousands.
func inParts(b *testing.B, s *Store, n int, f func(tx *sql.Tx, i int) error) {
	b.Helper()
	for i := 0; i < n; {
		require.NoError(b, s.write(context.Background(), "fill", func(tx *sql.Tx) error {
			for end := min(i+5000, n); i < end; i++ {
				if err := f(tx, i); err != nil {
					return err
				}
			}
			return nil
		}))
	}
}

// club is a store with a register of 10 000 items and a log of 100 000 pulls.
func club(b *testing.B) (s *Store, cell int64) {
	b.Helper()
	ctx := context.Background()
	s = open(b, b.TempDir(), Options{})
	cell = newCell(b, s)
	inParts(b, s, benchItems, func(tx *sql.Tx, i int) error {
		_, err := itemShelf().saveIn(ctx, s, tx, Document[gear.Item]{Value: benchItem(i)})
		return err
	})
	inParts(b, s, benchVehicles, func(tx *sql.Tx, i int) error {
		_, err := vehicleShelf().saveIn(ctx, s, tx, Document[gear.Vehicle]{Value: gear.Vehicle{Name: fmt.Sprintf("truck %d", i)}})
		return err
	})
	inParts(b, s, benchRigs, func(tx *sql.Tx, i int) error {
		_, err := rigShelf().saveIn(ctx, s, tx, Document[rig.Rig]{Value: benchRig(i)})
		return err
	})
	inParts(b, s, benchPulls, func(tx *sql.Tx, i int) error {
		_, err := s.insertPull(ctx, tx, benchPull(cell, i), 0)
		return err
	})
	info, err := os.Stat(s.databasePath())
	require.NoError(b, err)
	b.Logf("%d items, %d rigs, %d pulls: %d MiB", benchItems, benchRigs, benchPulls, info.Size()>>20)
	return s, cell
}

// BenchmarkRegister reads what each page of a large register and log needs. It
// fills a store first, which takes a minute or two.
func BenchmarkRegister(b *testing.B) {
	s, cell := club(b)
	ctx := context.Background()
	strap, err := s.ItemByKey(ctx, "g00000")
	require.NoError(b, err)
	truck, err := s.Vehicles(ctx)
	require.NoError(b, err)
	middle, err := s.Pulls(ctx, PullFilter{To: morning + benchPulls/2*10*second, Limit: 1})
	require.NoError(b, err)
	_, counted, err := s.ItemsUsed(ctx, 0)
	require.NoError(b, err)
	pulls := func(f PullFilter) func() (int, error) {
		f.Limit = 51
		return func() (int, error) {
			ps, err := s.Pulls(ctx, f)
			return len(ps), err
		}
	}
	find := func(f Find) func() (int, error) {
		f.Limit = 51
		return func() (int, error) {
			ds, err := s.FindItems(ctx, f)
			return len(ds), err
		}
	}
	for _, c := range []struct {
		name string
		want int
		ask  func() (int, error)
	}{
		{"pulls/latest", 51, pulls(PullFilter{})},
		{"pulls/middle", 51, pulls(PullFilter{Before: middle[0].ID})},
		{"pulls/kind", 51, pulls(PullFilter{Kind: pull.Proof, Before: middle[0].ID})},
		{"pulls/kind and ground", 51, pulls(PullFilter{Kind: pull.Steady, Ground: "mud", Cell: cell})},
		{"pulls/item", 51, pulls(PullFilter{Item: strap.ID})},
		{"pulls/item and kind", 51, pulls(PullFilter{Item: strap.ID, Kind: pull.Proof})},
		{"pulls/vehicle of a rare kind", 0, pulls(PullFilter{Vehicle: truck[0].ID, Kind: "none"})},
		{"life of an item with 1000 pulls", 1000, func() (int, error) {
			uses, err := s.ItemUses(ctx, strap.ID)
			return len(life.Of(strap.Value, uses, "2026-05-09", unit.Kilonewton).Pulls), err
		}},
		{"uses of all items, anew", 2992, func() (int, error) {
			used, _, err := s.ItemsUsed(ctx, 0)
			return len(used), err
		}},
		{"uses since nothing changed", 0, func() (int, error) {
			used, _, err := s.ItemsUsed(ctx, counted)
			return len(used), err
		}},
		{"items/first page", 51, find(Find{})},
		{"items/by text", 51, find(Find{Text: "strap box 17", After: "g06000"})},
		{"items/by a text that none has", 0, find(Find{Text: "winch"})},
		{"rigs/first page", 51, func() (int, error) {
			ds, err := s.FindRigs(ctx, Find{Limit: 51})
			return len(ds), err
		}},
		{"rigs/by text", 11, func() (int, error) {
			ds, err := s.FindRigs(ctx, Find{Text: "truck rig 077", Limit: 51})
			return len(ds), err
		}},
		{"journal/latest", 51, func() (int, error) {
			cs, err := s.Changes(ctx, JournalFilter{Limit: 51})
			return len(cs), err
		}},
		{"journal/of items", 51, func() (int, error) {
			cs, err := s.Changes(ctx, JournalFilter{What: "item", Limit: 51})
			return len(cs), err
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if n, err := c.ask(); n != c.want || err != nil {
					b.Fatal(n, err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/op")
		})
	}
	b.Run("uses after a pull", func(b *testing.B) {
		for i := 2 * benchPulls; b.Loop(); i++ {
			b.StopTimer()
			if _, err := s.SavePull(ctx, benchPull(cell, i)); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			used, now, err := s.ItemsUsed(ctx, counted)
			if counted = now; len(used) != 4 || err != nil {
				b.Fatal(used, err)
			}
		}
		b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/op")
	})
	b.Run("pulls/add", func(b *testing.B) {
		for i := benchPulls; b.Loop(); i++ {
			if _, err := s.SavePull(ctx, benchPull(cell, i)); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/op")
	})
}
