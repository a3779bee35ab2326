package tracefile_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

// loggerTrace is n lines as a logger writes them, 1 kHz with three decimals.
func loggerTrace(n int) []byte {
	random := rand.New(rand.NewPCG(5, 6))
	text := []byte("t_s,force_N\n")
	for i := range n {
		text = fmt.Appendf(text, "%.3f,%.3f\n", float64(i)/1000, 3000*random.NormFloat64())
	}
	return text
}

func BenchmarkEach(b *testing.B) {
	text := loggerTrace(1_000_000)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		f, err := tracefile.Open("-", bytes.NewReader(text), tracefile.Options{})
		require.NoError(b, err)
		n := 0
		require.NoError(b, f.Each(context.Background(), func(x trace.Batch) error { n += x.Len(); return nil }))
		require.Equal(b, 1_000_000, n)
		require.NoError(b, f.Close())
	}
}

func BenchmarkLargest(b *testing.B) {
	text := loggerTrace(1_000_000)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		f, err := tracefile.Open("-", bytes.NewReader(text), tracefile.Options{})
		require.NoError(b, err)
		_, err = f.Largest(context.Background())
		require.NoError(b, err)
		require.NoError(b, f.Close())
	}
}
