package rehearse_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/ingest/rehearse"
)

// What the analysis makes of the world's readings is what was played: every
// pull, of its kind, with the true peak inside the interval or within half a
// percent of it (the interval is one of 95 %), and nothing else.
func TestPlayedPullsAreFoundAsWhatTheyAre(t *testing.T) {
	t.Parallel()
	const seconds = 161 // River-1 is quiet then, River-2 too
	for _, b := range rehearse.NewWorld().Benches {
		c := b.Cell
		all := samples(t, c, b.Script, 11, int(seconds*c.Rate))
		finder := pull.NewFinder(pull.Config{
			Capacity: c.Capacity, Resolution: c.Curve.Slope(0), Relative95: c.Curve.Relative95, LagSeconds: c.Lag, NominalRate: c.Rate,
		})
		var batch trace.Batch
		for _, s := range all {
			batch.T = append(batch.T, int64(float64(s.N)/c.Rate*1e9))
			batch.F = append(batch.F, float64(c.Curve.Force(float64(s.Raw))))
		}
		found := append(finder.Push(batch), finder.Close()...)
		for n, p := range found {
			played, _ := b.Script(n)
			assert.InDelta(t, played.At.Seconds(), float64(p.Start)/1e9, 0.2, "%s: %s", c.Name, played.Name)
			assert.Equal(t, kindOf(played.Shape), p.Kind, "%s: %s at %v", c.Name, played.Name, played.At)
			truth := 0.0
			for _, s := range all[int(float64(p.Start)/1e9*c.Rate):min(len(all), int(float64(p.End)/1e9*c.Rate)+1)] {
				truth = max(truth, s.Force)
			}
			assert.GreaterOrEqual(t, truth, float64(p.PeakLow)*0.995)
			assert.LessOrEqual(t, truth, float64(p.PeakHigh)*1.005)
		}
		next, _ := b.Script(len(found))
		assert.GreaterOrEqual(t, next.At.Seconds(), float64(seconds), "%s: not all were found", c.Name)
		require.NotEmpty(t, found)
	}
}

func kindOf(s rehearse.Shape) pull.Kind {
	switch s.(type) {
	case rehearse.Kinetic:
		return pull.Kinetic
	case rehearse.Proof:
		return pull.Proof
	}
	return pull.Steady
}

// BenchmarkGenerator measures one second of the world's busiest cell, encoded.
func BenchmarkGenerator(b *testing.B) {
	bench := rehearse.NewWorld().Benches[0]
	g, err := rehearse.NewGenerator(bench.Cell, bench.Script, 1)
	require.NoError(b, err)
	e := rehearse.NewEncoder(bench.Cell)
	var buffer []byte
	for b.Loop() {
		buffer = buffer[:0]
		for range 1000 {
			s, err := g.Next()
			require.NoError(b, err)
			buffer = e.Append(buffer, s)
		}
		b.SetBytes(int64(len(buffer)))
	}
}
