package derive_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// TestStaleIsWhatDiffers holds the search along the index to the plain
// comparison of every pull, over calibrations and zeros at random moments.
func TestStaleIsWhatDiffers(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 9))
	at := func() time.Time { return start.Add(time.Duration(r.IntN(1000)) * time.Minute) }
	found := 0
	for range 8 {
		db, err := store.Open(t.TempDir(), store.Options{})
		require.NoError(t, err)
		cell, err := db.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 4}}})
		require.NoError(t, err)
		other, err := db.SaveCell(t.Context(), store.Cell{Name: "River-2", Curve: calibrate.Curve{Coefficients: []float64{0, 4}}})
		require.NoError(t, err)
		var zeros []int64
		for i := range r.IntN(4) {
			k := calibrate.Kept{From: at().Format(time.RFC3339), Curve: calibrate.Curve{Coefficients: []float64{float64(i), 4}}, Certificate: &calibrate.Certificate{Number: "LF-1"}}
			_, err = db.SaveCalibration(t.Context(), store.Calibration{Cell: cell.ID, Kept: k})
			require.NoError(t, err)
			z, err := db.SaveZero(t.Context(), store.Zero{Cell: cell.ID, Zero: calibrate.Zero{At: at().UnixNano(), Reading: float64(i)}})
			require.NoError(t, err)
			zeros = append(zeros, z.At)
		}
		known, err := derive.Of(t.Context(), db, cell)
		require.NoError(t, err)
		var pulls []store.Pull
		for minute := range 100 {
			peak := start.Add(time.Duration(minute*10)*time.Minute + time.Second).UnixNano()
			p := store.Pull{Cell: cell.ID, Found: pull.Pull{Start: peak - 1e9, End: peak + 1e9, PeakAt: peak, Peak: 10e3}, Settled: minute%9 != 0, By: known.By(peak)}
			switch r.IntN(4) {
			case 0:
				p.By.Calibration = r.IntN(4)
			case 1:
				p.Cell = other.ID
			case 2:
				if len(zeros) > 0 {
					p.By.Zero = zeros[r.IntN(len(zeros))]
				}
			}
			pulls = append(pulls, p)
		}
		pulls, err = db.SavePulls(t.Context(), pulls)
		require.NoError(t, err)
		var want []int64
		for _, p := range pulls {
			if p.Cell == cell.ID && p.Settled && p.By != known.By(p.Found.PeakAt) {
				want = append(want, p.ID)
			}
		}
		got, err := derive.Stale(t.Context(), db, known)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		found += len(got)
		require.NoError(t, db.Close())
	}
	assert.Greater(t, found, 20)
}
