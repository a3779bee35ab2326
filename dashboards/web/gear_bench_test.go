package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"
)

// BenchmarkPages asks for pages over a register of 10 000 items and 6 000
// pulls, each with six items: how long a page takes when the register has been
// read once.
func BenchmarkPages(b *testing.B) {
	const items, pulls = 10_000, 6_000
	s := filled(b, items, pulls)
	pages, err := web.New(web.Config{Store: s, Zone: time.UTC, Now: func() time.Time { return start.Add(time.Minute) }})
	require.NoError(b, err)
	for name, target := range map[string]string{
		"gear": "/gear", "gear far down": "/gear?after=i05000", "search": "/gear?text=strap+77", "kind": "/gear?kind=ring", "trouble": "/gear?show=trouble", "retired": "/gear?show=retired",
		"item": "/gear/77", "item edit": "/gear/77/edit", "labels": "/gear/labels", "vehicles": "/vehicles", "rigs": "/rigs", "rig": "/rigs/1", "rig edit": "/rigs/1/edit", "pulls": "/pulls", "cell": "/cells/River-1",
	} {
		ask := func() {
			w := httptest.NewRecorder()
			r := httptest.NewRequest("GET", "http://localhost"+target, nil)
			r.RemoteAddr = "127.0.0.1:50000"
			pages.ServeHTTP(w, r)
			require.Equal(b, http.StatusOK, w.Code, target)
		}
		begin := time.Now()
		ask()
		first := time.Since(begin)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				ask()
			}
			b.ReportMetric(float64(first.Microseconds())/1000, "ms-first")
		})
	}
}

// filled is a store with a large register and log.
func filled(b *testing.B, items, pulls int) *store.Store {
	b.Helper()
	s, err := store.Open(b.TempDir(), store.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	kinds, twelve := []gear.Kind{gear.RecoveryStrap, gear.BowShackle, gear.SoftShackle, gear.RecoveryPoint, gear.KineticRope}, 12
	var reg store.Register
	for i := range items {
		it := gear.Item{
			ID: fmt.Sprintf("i%05d", i), Name: fmt.Sprintf("%s %d", kinds[i%len(kinds)], i), Kind: kinds[i%len(kinds)], Made: "2024-05", Notes: "bought for the training on the river bar",
			Ratings: []gear.Rating{{Value: unit.Force(40_000 + i), Basis: gear.WLL}, {Value: unit.Force(160_000 + i), Basis: gear.MBS}},
			Life:    gear.Life{InspectEvery: &twelve, Inspections: []gear.Inspection{{Date: "2025-09-01", Result: gear.InOrder}}},
		}
		if i%100 == 0 {
			it.Inspections[0].Date = "2024-09-01"
		}
		reg.Items = append(reg.Items, it)
	}
	g := strapRig()
	reg.Vehicles, reg.Rigs = []gear.Vehicle{g.Pulling, g.Stuck}, []rig.Rig{g}
	_, err = s.SaveRegister(b.Context(), reg, false)
	require.NoError(b, err)
	cell, err := s.SaveCell(b.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100_000, Rate: 1000})
	require.NoError(b, err)
	for n := range pulls {
		p, rigged := found(), strapRig()
		shift := int64(n) * int64(time.Minute)
		p.Start, p.End, p.PeakAt = p.Start-shift, p.End-shift, p.PeakAt-shift
		for i := range rigged.Chain {
			rigged.Chain[i].Use.Item.ID = fmt.Sprintf("i%05d", (n*len(rigged.Chain)+i)%items)
		}
		_, err := s.SavePull(b.Context(), store.Pull{Cell: cell.ID, Found: p, Rig: &rigged, Ground: "wet sand", Settled: true})
		require.NoError(b, err)
	}
	return s
}
