package watch

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// record has readings arrive, and stores them.
func (b *bench) record(forces []int) {
	b.t.Helper()
	b.keep(b.next, forces)
	for len(forces) > 0 {
		n := min(20, len(forces))
		r := &record.Readings{Batch: trace.Batch{}}
		for _, f := range forces[:n] {
			r.T, r.F, r.Raw = append(r.T, b.next), append(r.F, 0), append(r.Raw, int64(f)<<indexBits)
			b.next += 1e6
			b.now = b.now.Add(time.Millisecond)
		}
		b.cell.follow([]record.Announcement{{Readings: r}})
		forces = forces[n:]
	}
}

// A calibration that is kept while the line is recorded holds for the pulls
// from then on, with its uncertainty, and a pull that is going on is not torn.
func TestACalibrationIsHeededWhileRecording(t *testing.T) {
	t.Parallel()
	b := newBench(t, t.TempDir())
	require.NoError(t, b.cell.calibrate(t.Context()))
	forces := quiet(40000, 1)
	addPulse(forces, 3000, 500, 20000)
	addPulse(forces, 22000, 500, 20000)
	addPulse(forces, 35000, 500, 20000)
	b.record(forces[:3250]) // in the middle of the first
	save := func(ctx context.Context, slope float64, expires string) {
		_, err := b.store.SaveCalibration(ctx, store.Calibration{Cell: b.cell.ID, Kept: calibrate.Kept{
			From: "2026-01-01T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{50, slope}},
			Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.02, Expires: expires},
		}})
		require.NoError(t, err)
	}
	one := b.cell.Cell.Cell.Curve.Coefficients[1]
	save(t.Context(), 1.5*one, "2026-12-31")
	b.cell.recalibrate(t.Context())
	b.record(forces[3250:15000])
	b.cell.recalibrate(t.Context())
	b.record(forces[15000:30000])
	save(t.Context(), 2*one, "2026-02-01")
	b.cell.recalibrate(t.Context())
	b.record(forces[30000:])
	require.NoError(t, b.cell.finish())

	pulls := b.pulls()
	require.Len(t, pulls, 3)
	peak := func(i int) float64 { return float64(pulls[i].Found.Peak) }
	assert.InDelta(t, 20000, peak(2), 50)
	assert.Equal(t, 0, pulls[2].By.Calibration)
	assert.Contains(t, pulls[2].Found.Flags, pull.FlagNoCalibration)
	assert.InEpsilon(t, 1.5*peak(2), peak(1), 1e-3)
	assert.Equal(t, 1, pulls[1].By.Calibration)
	assert.InEpsilon(t, 0.02*peak(1), float64(pulls[1].Found.Terms[0].High), 0.01)
	assert.NotContains(t, pulls[1].Found.Flags, pull.FlagZeroUnknown, "the latest readings were looked at again")
	assert.InEpsilon(t, 2*peak(2), peak(0), 1e-3)
	assert.Contains(t, pulls[0].Found.Flags, pull.FlagExpired)
}
