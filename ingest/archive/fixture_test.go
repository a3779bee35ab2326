//go:build unix

package archive_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/store"
)

// start is when the readings of the tests begin: just before midnight UTC, so
// that they lie on two days.
var start = time.Date(2026, 3, 14, 23, 59, 58, 0, time.UTC).UnixNano()

// laptop is a store with one cell, and a pusher of it.
type laptop struct {
	store    *store.Store
	cell     store.Cell
	settings archive.Settings
	dir      string
}

// shared makes a laptop that pushes into a bucket of its own on the server that
// tests share.
func shared(t testing.TB, station string) (server *archivetest.Server, bucket string, l *laptop) {
	t.Helper()
	server = archivetest.Shared(t)
	bucket = server.Database(t)
	return server, bucket, newLaptop(t, server.URL, bucket, station)
}

// newLaptop makes a laptop with a cell River-1 that pushes into a bucket.
func newLaptop(t testing.TB, url, bucket, station string) *laptop {
	t.Helper()
	l := &laptop{dir: t.TempDir(), settings: archive.Settings{URL: url, Bucket: bucket, Token: archivetest.Token, Station: station}}
	var err error
	l.store, err = store.Open(l.dir, store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, l.store.Close()) })
	l.cell = l.newCell(t, "River-1")
	return l
}

func (l *laptop) newCell(t testing.TB, name string) store.Cell {
	t.Helper()
	c, err := l.store.SaveCell(t.Context(), store.Cell{
		Name: name, Curve: calibrate.Curve{Coefficients: []float64{-3248.125, 4.0000137, 1.7e-9}, Relative95: 0.005}, Capacity: 100_000, Rate: 1000, LagSeconds: 0.0004})
	require.NoError(t, err)
	return c
}

// record appends readings to the store.
func (l *laptop) record(t testing.TB, runs ...store.Run) {
	t.Helper()
	require.NoError(t, l.store.Append(t.Context(), runs))
}

// noise is n readings of a quiet line, with a load in the middle.
func noise(cell store.Cell, from int64, step float64, n int) store.Run {
	r := rand.New(rand.NewPCG(uint64(from), uint64(n)))
	run := store.Run{Cell: cell.ID, Start: from, Step: step, Raw: make([]int64, n)}
	for i := range run.Raw {
		load := math.Max(0, math.Sin(3*math.Pi*float64(i)/float64(n)-math.Pi))
		run.Raw[i] = int64(math.Round(812 + 5*r.NormFloat64() + 9000*load))
	}
	return run
}

func (l *laptop) connect(t testing.TB) *archive.Server {
	t.Helper()
	s, err := archive.Connect(l.settings)
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

func (l *laptop) pusher(t testing.TB) *archive.Pusher {
	t.Helper()
	return archive.NewPusher(archive.Config{Store: l.store, Server: l.connect(t)})
}

func (l *laptop) state(t testing.TB) store.ArchiveState {
	t.Helper()
	s, err := l.store.ArchiveState(t.Context(), l.settings.Address())
	require.NoError(t, err)
	return s
}

// reading is one reading, wherever it was read.
type reading struct {
	At, Raw int64
	Bits    uint64 // of the force in newtons
	Mark    trace.Mark
}

// kept are the readings of a cell in the store.
func (l *laptop) kept(t testing.TB, cell store.Cell) (all []reading) {
	t.Helper()
	for run, err := range l.store.Runs(t.Context(), cell.ID, math.MinInt64, math.MaxInt64) {
		require.NoError(t, err)
		for i, raw := range run.Raw {
			all = append(all, reading{run.At(i), raw, math.Float64bits(float64(cell.Curve.Force(float64(raw)))), run.Mark(i)})
		}
	}
	return all
}

// archivedReadings are the readings of a cell in an archive, by this program.
func archivedReadings(t testing.TB, s *archive.Server, c archive.Cell) (all []reading) {
	t.Helper()
	err := s.Readings(t.Context(), c, math.MinInt64, math.MaxInt64, func(b trace.Batch, raw []int64) error {
		for i, at := range b.T {
			r := reading{At: at, Raw: raw[i], Bits: math.Float64bits(b.F[i])}
			if b.Marks != nil {
				r.Mark = b.Marks[i]
			}
			all = append(all, r)
		}
		return nil
	})
	require.NoError(t, err)
	return all
}

// queriedReadings are those of a cell as the server itself gives them.
func queriedReadings(t testing.TB, server *archivetest.Server, bucket, cell string) (all []reading) {
	t.Helper()
	for _, s := range server.Query(t, bucket, `SELECT raw, newtons, mark FROM line_force WHERE cell = '`+cell+`'`) {
		for _, v := range s.Values {
			r := reading{At: integer(t, v[0]), Raw: integer(t, v[1])}
			if v[2] != nil {
				f, err := v[2].(json.Number).Float64()
				require.NoError(t, err)
				r.Bits = math.Float64bits(f)
			}
			all = append(all, r)
		}
	}
	return all
}

func integer(t testing.TB, v any) int64 {
	t.Helper()
	n, err := v.(json.Number).Int64()
	require.NoError(t, err)
	return n
}

// onlyCell is the one cell in an archive.
func onlyCell(t testing.TB, s *archive.Server) archive.Cell {
	t.Helper()
	cells, err := s.Cells(t.Context())
	require.NoError(t, err)
	require.Len(t, cells, 1)
	return cells[0]
}

// found is a pull as the analysis leaves it.
func found(at int64) pull.Pull {
	steady := pull.Pull{}.Zero + 12_345.678
	return pull.Pull{Start: at, End: at + 1e9, Kind: pull.Steady, Peak: 40_000.5, PeakAt: at + 5e8 + 1, PeakLow: 39_800, PeakHigh: 40_900.25,
		RiseTime: 0.324, Impulse: 25_465, Steady: &steady, Flags: []string{pull.FlagSpikes, pull.FlagGap}, Remarks: []string{"One reading \"left\" out, \\ as\nelectrical."}}
}

// push pushes everything there is.
func push(t testing.TB, ctx context.Context, p *archive.Pusher) archive.Sum {
	t.Helper()
	sum, err := p.Push(ctx, true)
	require.NoError(t, err)
	return sum
}
