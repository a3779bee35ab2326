//go:build unix

// Package influx_test runs the ready queries of this directory against a real
// server that holds what a store has pushed to it, and checks each answer.
package influx_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/store"
)

func TestMain(m *testing.M) {
	code := m.Run()
	archivetest.Stop()
	os.Exit(code)
}

// start is when the readings begin, on the day that the queries ask for.
var start = time.Date(2026, 5, 17, 9, 30, 0, 0, time.UTC)

// newtons of reading i of ten seconds at 1 kHz: three pulses of 40, 20 and
// 30 kN, half a second long, from 2, 5 and 8 s on. A count is half a newton.
func newtons(i int) float64 {
	for at, peak := range map[int]float64{2000: 40_000, 5000: 20_000, 8000: 30_000} {
		if i >= at && i < at+500 {
			return math.Round(2*peak*math.Sin(math.Pi*float64(i-at)/500)) / 2
		}
	}
	return 0
}

// day pushes a day: readings, and the three pulls, the second on another ground
// with another strap, the third a steady one.
func day(t *testing.T, server *archivetest.Server, bucket string) {
	t.Helper()
	ctx := t.Context()
	db, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	cell, err := db.SaveCell(ctx, store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 0.5}}, Capacity: 100_000, Rate: 1000})
	require.NoError(t, err)
	run := store.Run{Cell: cell.ID, Start: start.UnixNano(), Step: 1e6, Raw: make([]int64, 10_000), Marks: make([]trace.Mark, 10_000)}
	for i := range run.Raw {
		run.Raw[i] = int64(2 * newtons(i))
	}
	run.Marks[9000] = trace.Lost
	require.NoError(t, db.Append(ctx, []store.Run{run}))
	for i, p := range []struct {
		from          int64
		peak          unit.Force
		kind          pull.Kind
		strap, ground string
	}{{2000, 40_000, pull.Kinetic, string(gear.RecoveryStrap), "silt"}, {5000, 20_000, pull.Kinetic, string(gear.KineticRope), "silt"}, {8000, 30_000, pull.Steady, string(gear.RecoveryStrap), "wet sand"}} {
		at := start.UnixNano() + p.from*1e6
		r := rigged(p.strap)
		_, err := db.SavePull(ctx, store.Pull{Cell: cell.ID, Rig: &r, Ground: p.ground, Settled: true, Found: pull.Pull{
			Start: at, End: at + 500e6, PeakAt: at + 250e6, Kind: p.kind, Peak: p.peak, PeakLow: p.peak - 100, PeakHigh: p.peak + 900, RiseRate: 98_000 + float64(i), Flags: []string{}}})
		require.NoError(t, err)
	}
	to, err := archive.Connect(archive.Settings{URL: server.URL, Bucket: bucket, Token: archivetest.Token, Station: "heron"})
	require.NoError(t, err)
	defer to.Close()
	sum, err := archive.NewPusher(archive.Config{Store: db, Server: to}).Push(ctx, true)
	require.NoError(t, err)
	require.Equal(t, archive.Sum{Readings: 10_000, Pulls: 3}, sum)
}

func rigged(strap string) rig.Rig {
	gvm := unit.Mass(2000)
	return rig.Rig{Name: strap, Pulling: gear.Vehicle{Name: "Heron", GVM: &gvm}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm},
		Chain: []rig.Link{rig.InLine(gear.Item{ID: strap, Name: strap, Kind: gear.Kind(strap)})}}
}

// weight is that of the stuck vehicle.
const weight = 2000 * 9.80665

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return f
}

// TestFlux runs every query in Flux. A new file without a check fails.
func TestFlux(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	day(t, server, bucket)
	checks := map[string]func(*testing.T, []map[string]string){
		"line_force": func(t *testing.T, rows []map[string]string) {
			require.Len(t, rows, 200)
			largest := 0.0
			for _, r := range rows {
				if r["_field"] == "largest_kN" {
					largest = max(largest, number(t, r["_value"]))
				}
			}
			assert.Equal(t, 40.0, largest)
		},
		"pulls": func(t *testing.T, rows []map[string]string) {
			require.Len(t, rows, 3)
			assert.Equal(t, map[string]string{"_time": "2026-05-17T09:30:05Z", "pull_id": "2", "kind": "kinetic", "ground": "silt", "strap": string(gear.KineticRope), "peak_N": "20000",
				"peak_low_N": "19900", "peak_high_N": "20900", "rise_rate_N_per_s": "98001", "reference_kg": "2000", "shock_factor": rows[1]["shock_factor"], "flags": ""}, rows[1])
			assert.InDelta(t, 20_000/weight, number(t, rows[1]["shock_factor"]), 1e-12)
		},
		"last_pull": func(t *testing.T, rows []map[string]string) {
			require.Contains(t, []int{2500, 2501}, len(rows), "version 1.8 counts the end of a range in")
			for i, r := range rows {
				at, err := time.Parse(time.RFC3339Nano, r["_time"])
				require.NoError(t, err)
				require.Equal(t, start.Add(time.Duration(7000+i)*time.Millisecond), at)
				require.Equal(t, newtons(7000+i), number(t, r["_value"]))
			}
		},
		"largest_by_strap": func(t *testing.T, rows []map[string]string) {
			assert.Equal(t, []map[string]string{{"strap": string(gear.RecoveryStrap), "peak_N": "40000", "pulls": "2"}, {"strap": string(gear.KineticRope), "peak_N": "20000", "pulls": "1"}}, rows)
		},
		"shock_factors": func(t *testing.T, rows []map[string]string) {
			require.Len(t, rows, 2, "the steady pull is none")
			assert.Equal(t, []string{"silt", "largest", "silt", "median"}, []string{rows[0]["ground"], rows[0]["what"], rows[1]["ground"], rows[1]["what"]})
			assert.InDelta(t, 40_000/weight, number(t, rows[0]["shock_factor"]), 1e-12)
			assert.InDelta(t, 30_000/weight, number(t, rows[1]["shock_factor"]), 1e-12)
		},
		"readings_a_day": func(t *testing.T, rows []map[string]string) {
			assert.Equal(t, []map[string]string{{"station": "heron", "cell": "River-1", "day": "2026-05-17", "_value": "10000"}}, rows)
		},
		"marked": func(t *testing.T, rows []map[string]string) {
			assert.Equal(t, []map[string]string{{"_time": "2026-05-17T09:30:09Z", "_value": "lost"}}, rows)
		},
	}
	for name, question := range queries(t, "*.flux") {
		t.Run(name, func(t *testing.T) {
			check := checks[name]
			require.NotNil(t, check, "no check of this query")
			require.Contains(t, question, `bucket = "recovery"`)
			check(t, server.Flux(t, strings.Replace(question, `"recovery"`, strconv.Quote(bucket), 1)))
		})
	}
}

// TestInfluxQL does the same in InfluxQL.
func TestInfluxQL(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	bucket := server.Database(t)
	day(t, server, bucket)
	ours := "map[cell:River-1 station:heron]"
	checks := map[string]func(*testing.T, []archivetest.Series){
		"line_force": func(t *testing.T, all []archivetest.Series) {
			require.Len(t, all[0].Values, 100)
			assert.Equal(t, []any{json.Number(fmt.Sprint(start.UnixNano() + 2200e6)), json.Number("40000"), json.Number(fmt.Sprint(newtons(2200)))}, all[0].Values[22])
		},
		"pulls": func(t *testing.T, all []archivetest.Series) {
			require.Len(t, all[0].Values, 3)
			v := all[0].Values[2]
			assert.Equal(t, "3 steady wet sand recovery strap 30000 29900 30900", fmt.Sprint(v[1], " ", v[2], " ", v[3], " ", v[4], " ", v[5], " ", v[6], " ", v[7]))
		},
		"largest_kinetic": func(t *testing.T, all []archivetest.Series) {
			assert.Equal(t, json.Number("40000"), all[0].Values[0][1])
			assert.Equal(t, ours, fmt.Sprint(all[0].Tags))
		},
		"readings_a_day": func(t *testing.T, all []archivetest.Series) {
			assert.Equal(t, json.Number("10000"), all[0].Values[0][1])
			assert.Equal(t, "map[cell:River-1 day:2026-05-17 station:heron]", fmt.Sprint(all[0].Tags))
		},
		"last_reading": func(t *testing.T, all []archivetest.Series) {
			assert.Equal(t, []any{json.Number(fmt.Sprint(start.UnixNano() + 9999e6)), json.Number("0")}, all[0].Values[0])
			assert.Equal(t, ours, fmt.Sprint(all[0].Tags))
		},
	}
	for name, question := range queries(t, "*.influxql") {
		t.Run(name, func(t *testing.T) {
			check := checks[name]
			require.NotNil(t, check, "no check of this query")
			all := server.Query(t, bucket, question)
			require.Len(t, all, 1)
			check(t, all)
		})
	}
}

// queries are the files of a pattern by name.
func queries(t *testing.T, pattern string) map[string]string {
	t.Helper()
	files, err := filepath.Glob(pattern)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 5)
	all := map[string]string{}
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		name := strings.TrimSuffix(f, filepath.Ext(f))
		assert.Contains(t, string(readme), "`"+name+"`", "the README does not tell of it")
		all[name] = string(text)
	}
	return all
}
