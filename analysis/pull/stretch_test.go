package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// within measures a stretch of a trace that is pushed in pieces of some sizes.
func within(cfg pull.Config, b trace.Batch, from, to int64, sizes ...int) (pull.Pull, error) {
	s := pull.NewStretch(cfg, from, to)
	for i, k := 0, 0; i < b.Len(); k++ {
		j := min(i+sizes[k%len(sizes)], b.Len())
		s.Push(b.Slice(i, j))
		i = j
	}
	return s.Close()
}

// TestSetToWhatWasFound: limits that are set to those that were found measure
// the same pull, over kinds, rates and noises.
func TestSetToWhatWasFound(t *testing.T) {
	t.Parallel()
	seen := 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 11))
		rate := []float64{10, 80, 1000}[seed%3]
		noise := []float64{0, 20, 150}[seed/3%3]
		var pulls []placed
		at := 12.0
		for range 2 {
			p := []func(*rand.Rand) truth{kinetic, steady, proof}[r.IntN(3)](r)
			pulls, at = append(pulls, placed{truth: p, start: at}), at+p.seconds()+20
		}
		b := line{rate: rate, noise: noise, zero: 300, drift: uniform(r, -2, 2)}.read(r, pulls, at)
		cfg := pull.Config{Capacity: 100e3}
		for _, was := range find(cfg, b, b.Len()) {
			seen++
			is, err := within(cfg, b, was.Start, was.End, 4096)
			require.NoError(t, err)
			require.Contains(t, is.Flags, pull.FlagSetByHand)
			sure := max(float64(was.PeakHigh-was.PeakLow)/10, 1e-6)
			assert.Equal(t, []any{was.Start, was.End, was.PeakAt, was.Samples, was.Kind, was.Filter, was.Rebounds},
				[]any{is.Start, is.End, is.PeakAt, is.Samples, is.Kind, is.Filter, is.Rebounds}, "seed %d", seed)
			assert.InDelta(t, float64(was.Peak), float64(is.Peak), sure, "seed %d", seed)
			assert.InDelta(t, float64(was.PeakLow), float64(is.PeakLow), sure, "seed %d", seed)
			assert.InDelta(t, float64(was.PeakHigh), float64(is.PeakHigh), sure, "seed %d", seed)
			assert.InDelta(t, float64(was.PeakFiltered), float64(is.PeakFiltered), sure, "seed %d", seed)
			assert.InDelta(t, was.Impulse, is.Impulse, max(was.Impulse95/5, 1e-6), "seed %d", seed)
			assert.InDelta(t, was.RiseTime, is.RiseTime, max(was.RiseTime95/5, 1e-9), "seed %d", seed)
		}
	}
	assert.GreaterOrEqual(t, seen, 110, "of 120 pulls")
}

// TestAnyStretch: whatever limits are set on whatever trace, cut into whatever
// pieces, the same comes out, and it is what a plain look over the readings
// between the limits says.
func TestAnyStretch(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{10, 80, 1000}).Draw(t, "rate")
		b := busy(rapid.Uint64Range(0, 1000).Draw(t, "seed"), rate)
		cfg := rapid.SampledFrom([]pull.Config{{}, {Capacity: 60e3}, {FullScale: 40e3}}).Draw(t, "config")
		first, whole := b.T[0], b.T[b.Len()-1]-b.T[0]
		from := first + rapid.Int64Range(-1e9, whole+1e9).Draw(t, "from")
		to := from + rapid.Int64Range(-1e6, whole).Draw(t, "long")
		want, err := within(cfg, b, from, to, b.Len())
		sizes := rapid.SliceOfN(rapid.SampledFrom([]int{1, 1, 2, 3, 17, 256, 1000, 5000}), 1, 20).Draw(t, "sizes")
		got, again := within(cfg, b, from, to, sizes...)
		require.Equal(t, err, again)
		require.Equal(t, want, got)

		n, raw, valid := 0, math.Inf(-1), [2]int64{}
		for i, at := range b.T {
			if at < from || at > to || b.Marks[i]&trace.Invalid != 0 {
				continue
			}
			if n == 0 {
				valid[0] = at
			}
			n, raw, valid[1] = n+1, max(raw, b.F[i]), at
		}
		if n == 0 {
			require.ErrorIs(t, err, pull.ErrNoReadings)
			return
		}
		if err != nil {
			require.ErrorIs(t, err, pull.ErrNoPull)
			return
		}
		checkSane(t, []pull.Pull{got})
		require.Equal(t, valid, [2]int64{got.Start, got.End})
		require.Equal(t, n, got.Samples)
		require.Contains(t, got.Flags, pull.FlagSetByHand)
		require.LessOrEqual(t, float64(got.PeakReading+got.Zero), raw+1e-6, "no reading outside the limits counts")
		if got.Spikes == 0 {
			require.InDelta(t, raw, float64(got.PeakReading+got.Zero), 1e-6)
		}
		require.True(t, from <= got.PeakAt && got.PeakAt <= to)
	})
}

// TestStretchScales: k times the force, and another clock, within the same
// limits.
func TestStretchScales(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		p := []func(*rand.Rand) truth{kinetic, steady, proof}[rapid.IntRange(0, 2).Draw(t, "kind")](r)
		b := line{rate: 1000, noise: rapid.SampledFrom([]float64{0, 20, 100}).Draw(t, "noise")}.read(r, []placed{{truth: p, start: 8}}, p.seconds()+20)
		from := int64(uniform(r, 7, 8.2) * 1e9)
		to := from + int64(uniform(r, 0.7, 1.5)*p.seconds()*1e9)
		k, shift := rapid.Float64Range(0.25, 8).Draw(t, "k"), rapid.Int64Range(-1e18, 1e18).Draw(t, "shift")
		plain, err := within(pull.Config{Capacity: 100e3}, b, from, to, 4096)
		require.NoError(t, err)
		scaled, err := within(pull.Config{Capacity: unit.Force(k * 100e3)}, changed(b, k, 0, 0), from, to, 4096)
		require.NoError(t, err)
		shifted, err := within(pull.Config{Capacity: 100e3}, changed(b, 1, shift, 0), from+shift, to+shift, 4096)
		require.NoError(t, err)
		assert.InEpsilon(t, k*float64(plain.Peak), float64(scaled.Peak), 1e-9)
		assert.InEpsilon(t, k*plain.Impulse, scaled.Impulse, 1e-9)
		assert.Equal(t, plain.Peak, shifted.Peak)
		assert.Equal(t, []any{plain.Start + shift, plain.End + shift, plain.Kind}, []any{shifted.Start, shifted.End, shifted.Kind})
	})
}

// TestStretchOfTwo: a line that was jerked twice within three seconds is found
// as one pull. Each half by itself has the peak and the impulse of its own
// half-sine (2/π of height times length), from the zero before the first.
func TestStretchOfTwo(t *testing.T) {
	t.Parallel()
	b := made(30, func(s float64) float64 {
		return 200 + pulse(s, 12, 0.6, 30e3) + pulse(s, 14, 0.5, 20e3)
	})
	cfg := pull.Config{Capacity: 100e3}
	require.Len(t, find(cfg, b, 5000), 1)
	for _, c := range []struct{ from, to, peak, impulse float64 }{
		{11.9, 13, 30e3, 30e3 * 0.6 * 2 / math.Pi},
		{13.5, 15, 20e3, 20e3 * 0.5 * 2 / math.Pi},
		{11, 16, 30e3, (30e3*0.6 + 20e3*0.5) * 2 / math.Pi},
		{12.3, 13, 30e3, 30e3 * 0.6 / math.Pi}, // from the top on
	} {
		p, err := within(cfg, b, int64(c.from*1e9), int64(c.to*1e9), 1000)
		require.NoError(t, err)
		assert.InEpsilon(t, c.peak, float64(p.Peak), 1e-4, "%+v", c)
		assert.InEpsilon(t, c.impulse, p.Impulse, 1e-3, "%+v", c)
		assert.InDelta(t, 200, float64(p.Zero), 1, "%+v", c)
		assert.Equal(t, pull.Kinetic, p.Kind)
		assert.Contains(t, p.Flags, pull.FlagSetByHand)
	}
}

// TestStretchTold: what is said where the line is under load at a limit, or
// the trace was under way already, and what cannot be measured.
func TestStretchTold(t *testing.T) {
	t.Parallel()
	b := made(30, single) // from 5.0 to 5.6 s
	cfg := pull.Config{Capacity: 100e3}
	said := func(b trace.Batch, from, to float64) string {
		p, err := within(cfg, b, int64(from*1e9), int64(to*1e9), 700)
		require.NoError(t, err)
		for i, flag := range p.Flags {
			if flag == pull.FlagSetByHand {
				return p.Remarks[i]
			}
		}
		return ""
	}
	assert.Equal(t, "A person set its start and its end.", said(b, 4.9, 6))
	assert.Equal(t, "A person set its start and its end. The line was already under load at that start.", said(b, 5.2, 6))
	assert.Equal(t, "A person set its start and its end. The line was still under load at that end.", said(b, 4.9, 5.4))
	assert.Equal(t, "A person set its start and its end. The line was already under load at that start, and still at that end.", said(b, 5.2, 5.4))

	for _, c := range []struct {
		from, to float64
		cut      bool
	}{{4.9, 6, false}, {5.2, 6, false}, {5.2, 5.4, false}, {5.4, 6, true}, {4.9, 5.2, true}} { // the top is at 5.3 s
		p, err := within(cfg, b, int64(c.from*1e9), int64(c.to*1e9), 700)
		require.NoError(t, err)
		assert.Equal(t, c.cut, p.AtLeast(), "%+v", c)
		if c.cut {
			assert.Contains(t, p.Flags, pull.FlagPeakAtLimit)
		}
	}

	late := b.Slice(5200, b.Len()) // the trace begins inside the pull
	p, err := within(cfg, late, 0, 6e9, 700)
	require.NoError(t, err)
	assert.Contains(t, p.Flags, pull.FlagUnderWay)
	assert.Contains(t, p.Flags, pull.FlagZeroUnknown)
	p, err = within(cfg, late, 5.25e9, 6e9, 700)
	require.NoError(t, err)
	assert.NotContains(t, p.Flags, pull.FlagUnderWay, "its start is in the trace")
	assert.Contains(t, p.Flags, pull.FlagZeroUnknown)

	for name, c := range map[string]struct {
		from, to float64
		want     error
	}{
		"before the trace": {-5, -1, pull.ErrNoReadings}, "behind the trace": {40, 50, pull.ErrNoReadings},
		"end before start": {6, 4, pull.ErrNoReadings}, "between two readings": {5.3001, 5.3004, pull.ErrNoReadings},
		"a quiet line": {10, 15, pull.ErrNoPull}, "a quiet moment before": {1, 1.01, pull.ErrNoPull},
	} {
		_, err := within(cfg, b, int64(c.from*1e9), int64(c.to*1e9), 700)
		assert.ErrorIs(t, err, c.want, name)
	}
	_, err = pull.NewStretch(cfg, 0, 1e9).Close()
	assert.ErrorIs(t, err, pull.ErrNoReadings)
}

// TestStretchOfTwoCalibrations: limits between which another curve or zero
// comes into force are refused; one that comes into force just before the
// start, or just behind the end, changes nothing within.
func TestStretchOfTwoCalibrations(t *testing.T) {
	t.Parallel()
	b := made(30, single)
	for at, refused := range map[int64]bool{4.8e9: false, 4.9e9: false, 5.3e9: true, 6e9: true, 6.001e9: false, 7e9: false} {
		cfg := pull.Config{Capacity: 100e3, Calibration: func(t int64, _ unit.Force) pull.Calibration {
			if t < at {
				return pull.Calibration{Until: at}
			}
			return pull.Calibration{Until: math.MaxInt64}
		}}
		want, err := within(cfg, b, 4.9e9, 6e9, b.Len())
		got, again := within(cfg, b, 4.9e9, 6e9, 1, 300)
		assert.Equal(t, err, again)
		assert.Equal(t, want, got, "any split")
		if refused {
			assert.ErrorIs(t, err, pull.ErrTwoCalibrations, at)
			continue
		}
		require.NoError(t, err, at)
		assert.InEpsilon(t, 30e3, float64(got.Peak), 1e-4, at)
	}
}
