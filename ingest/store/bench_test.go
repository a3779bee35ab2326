package store

import (
	"context"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// sized is a store with n readings at 1 kHz, in blocks, as a day leaves it.
func sized(b *testing.B, n int) (*Store, int64) {
	b.Helper()
	s := open(b, b.TempDir(), Options{})
	cell := newCell(b, s)
	const part = 1_000_000
	for at := 0; at < n; at += part {
		run := Run{Cell: cell, Start: morning + int64(at)*millisecond, Step: 1e6, Raw: noisy(5, min(part, n-at))}
		require.NoError(b, s.Append(context.Background(), []Run{run}))
	}
	_, err := s.Fold(context.Background(), cell)
	require.NoError(b, err)
	return s, cell
}

// benchReadings is how many readings to outline.
func benchReadings(b *testing.B) int {
	n := 10_000_000
	if given := os.Getenv("TAUTLOG_BENCH_READINGS"); given != "" {
		var err error
		n, err = strconv.Atoi(given)
		require.NoError(b, err)
	}
	return n
}

// BenchmarkAppend stores a quarter of a second of one cell at 1 kHz, durably.
func BenchmarkAppend(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	cell := newCell(b, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	b.ReportAllocs()
	for b.Loop() {
		if err := s.Append(context.Background(), []Run{run}); err != nil {
			b.Fatal(err)
		}
		run.Start = run.At(250)
	}
}

// BenchmarkFold makes one block of the tails of 33 s at 1 kHz.
func BenchmarkFold(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	cell := newCell(b, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		var runs []Run
		for range blockReadings/250 + 1 {
			runs = append(runs, run)
			run.Start = run.At(250)
		}
		for _, r := range runs {
			if err := s.Append(context.Background(), []Run{r}); err != nil {
				b.Fatal(err)
			}
		}
		b.StartTimer()
		if n, err := s.Fold(context.Background(), cell); n != 1 || err != nil {
			b.Fatal(n, err)
		}
	}
}

func BenchmarkRuns(b *testing.B) {
	const n = 10_000_000
	s, cell := sized(b, n)
	b.ReportAllocs()
	for b.Loop() {
		got := 0
		for r, err := range s.Runs(context.Background(), cell, 0, math.MaxInt64) {
			if err != nil {
				b.Fatal(err)
			}
			got += len(r.Raw)
		}
		require.Equal(b, n, got)
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mreadings/s")
}

// BenchmarkOutline draws in a thousand columns: 10 M readings (2.8 h at
// 1 kHz), ten minutes of them from the fine level, and ten seconds from the
// readings. TAUTLOG_BENCH_READINGS of 86400000 gives a whole day.
func BenchmarkOutline(b *testing.B) {
	n := benchReadings(b)
	s, cell := sized(b, n)
	var bytes, blocks int64
	require.NoError(b, s.reader.QueryRow(`SELECT sum(length(payload)), count(*) FROM blocks`).Scan(&bytes, &blocks))
	var pages, size, levels int64
	require.NoError(b, s.reader.QueryRow(`SELECT page_count, page_size FROM pragma_page_count, pragma_page_size`).Scan(&pages, &size))
	require.NoError(b, s.reader.QueryRow(`SELECT sum(length(extents)) FROM levels`).Scan(&levels))
	b.Logf("%d readings in %d blocks: payload %.3f, levels %.3f, file %.3f bytes a reading", n, blocks,
		float64(bytes)/float64(n), float64(levels)/float64(n), float64(pages*size)/float64(n))
	for name, last := range map[string]int64{"all": int64(n), "20min": 1_200_000, "10s": 10_000} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				columns, err := s.Outline(context.Background(), cell, morning, morning+last*millisecond, 1000)
				if err != nil || len(columns) < 990 {
					b.Fatal(len(columns), err)
				}
			}
		})
	}
}
