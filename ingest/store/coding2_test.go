package store

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// anyReadings draws readings of every sort that a cell or a broken one sends.
func anyReadings(t *rapid.T, label string, longest int) []int64 {
	n := rapid.IntRange(0, longest).Draw(t, label+" length")
	raw := make([]int64, 0, n)
	for len(raw) < n {
		part := rapid.IntRange(1, 400).Draw(t, "part")
		seed := rapid.Uint64().Draw(t, "seed")
		rnd := rand.New(rand.NewPCG(seed, 1))
		level := rapid.OneOf(rapid.Int64Range(-1<<23, 1<<23), rapid.Int64()).Draw(t, "level")
		slope := rapid.Int64Range(-1000, 1000).Draw(t, "slope")
		sigma := rapid.SampledFrom([]float64{0, 1, 20, 1e6, 1e18}).Draw(t, "sigma")
		for i := 0; i < part && len(raw) < n; i++ {
			raw = append(raw, level+int64(i)*slope+int64(sigma*rnd.NormFloat64()))
		}
		if rapid.Bool().Draw(t, "extremes") && len(raw)+2 <= n {
			raw = append(raw, math.MinInt64, math.MaxInt64)
		}
	}
	return raw
}

func TestReadingsComeBackExactly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		raw := anyReadings(t, "raw", 1500)
		got := make([]int64, len(raw))
		require.NoError(t, decodeReadings(got, appendReadings(nil, raw)))
		require.Equal(t, raw, got)
	})
}

func TestCodingKeepsWhatWasThere(t *testing.T) {
	t.Parallel()
	out := appendReadings([]byte("before"), []int64{5, 6, 7})
	require.Equal(t, "before", string(out[:6]))
	got := make([]int64, 3)
	require.NoError(t, decodeReadings(got, out[6:]))
	require.Equal(t, []int64{5, 6, 7}, got)
}

func TestCutCodingIsRefused(t *testing.T) {
	t.Parallel()
	raw := noisy(5, 1000)
	coded := appendReadings(nil, raw)
	for cut := range len(coded) {
		require.ErrorIs(t, decodeReadings(make([]int64, len(raw)), coded[:cut]), errCoded, "cut at %d", cut)
	}
}

func TestWhatIsBehindTheReadingsIsRefused(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1, 255, 256, 300} {
		coded := append(appendReadings(nil, noisy(5, n)), 1)
		require.ErrorIs(t, decodeReadings(make([]int64, n), coded), errCoded, "%d readings", n)
	}
}

// A spike costs its own digits, there and back, and half a bit more of the
// readings in its frame, which are then foreseen by the one before; it does not
// widen the fields of all of them.
func TestASpikeDoesNotWidenItsFrame(t *testing.T) {
	t.Parallel()
	raw := noisy(5, 1<<13)
	plain := len(appendReadings(nil, raw))
	const every = 256
	for i := every / 3; i < len(raw); i += every {
		raw[i] += 4_000_000
	}
	spikes := len(raw) / every
	require.Less(t, len(appendReadings(nil, raw)), plain+24*spikes)
}

func FuzzDecodeReadings(f *testing.F) {
	f.Add(true, uint16(300), appendReadings(nil, noisy(5, 300)))
	f.Add(true, uint16(400), appendReadings(nil, append(noisy(1e18, 300), noisy(3, 100)...)))
	f.Add(true, uint16(3), []byte{0xff})
	f.Add(false, uint16(938), oldReadings(f))
	f.Add(false, uint16(3), []byte{0xff})
	f.Fuzz(func(t *testing.T, present bool, n uint16, in []byte) {
		decode := decodeReadings
		if !present {
			decode = decodeCoding1
		}
		raw := make([]int64, n%(4*frameLength)) // a few frames show all there is
		if decode(raw, in) != nil {
			return
		}
		again := make([]int64, len(raw))
		require.NoError(t, decodeReadings(again, appendReadings(nil, raw)))
		require.True(t, slices.Equal(raw, again))
	})
}

// noisy is a quiet line at a level, with gaussian noise of sigma counts.
func noisy(sigma float64, n int) []int64 {
	rnd := rand.New(rand.NewPCG(1, uint64(n)))
	raw := make([]int64, n)
	for i := range raw {
		raw[i] = 84213 + int64(math.Round(sigma*rnd.NormFloat64()))
	}
	return raw
}

// shannon is the least that gaussian noise of sigma counts can be coded in,
// bytes a reading: Shannon 1948, section 20, entropy of a gaussian, in bits.
func shannon(sigma float64) float64 { return math.Log2(sigma*math.Sqrt(2*math.Pi*math.E)) / 8 }

func TestNoiseCostsLittleMoreThanItMust(t *testing.T) {
	t.Parallel()
	for _, sigma := range []float64{3, 5, 7, 11, 14, 20, 300, 20_000, 1e6} {
		raw := noisy(sigma, 1<<16)
		got := float64(len(appendReadings(nil, raw))) / float64(len(raw))
		t.Logf("noise of %g counts: %.3f bytes a reading, no less than %.3f", sigma, got, shannon(sigma))
		require.Greater(t, got, shannon(sigma)*0.99) // the bound itself, but for this sample's luck
		require.Less(t, got, shannon(sigma)*1.08)
	}
}

func BenchmarkEncodeReadings(b *testing.B) {
	benchmarkNoise(b, func(b *testing.B, raw []int64) {
		var out []byte
		for b.Loop() {
			out = appendReadings(out[:0], raw)
		}
		b.ReportMetric(float64(len(out))/float64(len(raw)), "B/reading")
	})
}

func BenchmarkDecodeReadings(b *testing.B) {
	benchmarkNoise(b, func(b *testing.B, raw []int64) {
		coded, got := appendReadings(nil, raw), make([]int64, len(raw))
		for b.Loop() {
			if err := decodeReadings(got, coded); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func benchmarkNoise(b *testing.B, run func(*testing.B, []int64)) {
	for _, sigma := range []float64{5, 20} {
		b.Run(fmt.Sprintf("noise=%g", sigma), func(b *testing.B) {
			raw := noisy(sigma, 1<<15)
			b.ReportAllocs()
			run(b, raw)
			b.ReportMetric(float64(len(raw))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mreadings/s")
			b.ReportMetric(shannon(sigma), "shannonB/reading")
		})
	}
}
