package tracefile

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
)

// FuzzEach feeds any bytes as a trace. Nothing may panic; what is refused is
// refused with a place; what is taken is what the slow way reads from each
// line, and what a CSV reader that shares no code sees in the two columns.
func FuzzEach(f *testing.F) {
	for _, text := range []string{
		"", "t_s,force_N\n", "t_s,force_N\n0,1\n0.001,2\n", "t_s;force_kN\r\n0;1,5\r\n0,1;2\r\n", "# c\n\"time\"\t\"force_t\"\n1e-3\t\"5\"\n",
		"time,force_lbf,note\n2026-05-31T09:30:01.5Z,1,\"a,b\"\n", "t_s,force_N\n0,NaN\n", "t_s,force_N\n0,1\n0,1\n", "\x1f\x8b\x08\x00", "\x28\xb5\x2f\xfd",
		"t_s,force_N\n 0 , 1 \n\n0.1,+2\n", "force_N,t_s\n0.30000000000000004,1.000000000000000021e-03\n", "PK\x03\x04", "t_s,mark,force_N\n0,,1\n1,overload lost,2\n2,,3\n", "\xef\xbb\xbft_s,force_N\n0,1",
	} {
		f.Add([]byte(text), false)
		f.Add([]byte(text), true)
	}
	f.Fuzz(func(t *testing.T, text []byte, comma bool) {
		o := Options{DecimalComma: comma}
		file, err := Open("-", bytes.NewReader(text), o)
		require.NoError(t, err)
		defer file.Close()
		var all trace.Batch
		err = file.Each(context.Background(), func(b trace.Batch) error {
			all.T, all.F, all.Marks = append(all.T, b.T...), append(all.F, b.F...), b.Marks
			return nil // the inputs fit into one batch
		})
		if err != nil {
			found, ok := errors.AsType[*Error](err)
			require.True(t, ok, "%T", err)
			require.Positive(t, found.Line)
			require.NotContains(t, found.Error(), "\n")
			return
		}
		sameTheSlowWay(t, text, o, all)
		sameWithAnotherReader(t, text, o, all)
	})
}

func sameTheSlowWay(t *testing.T, text []byte, o Options, all trace.Batch) {
	if text[0] == 0x1f || text[0] == 0x28 {
		return
	}
	l, rest, err := readPreamble(text, true, new(int), o)
	require.NoError(t, err)
	p := parser{layout: l}
	n := 0
	for line := range bytes.SplitSeq(rest, []byte("\n")) {
		line = bytes.TrimSuffix(line, []byte("\r"))
		if isBlank(line) {
			continue
		}
		at, force, mark, err := p.slowLine(bytes.Clone(line), 1)
		require.Nil(t, err, "%q", line)
		require.Equal(t, all.T[n], at, "%q", line)
		require.Equal(t, math.Float64bits(all.F[n]), math.Float64bits(force), "%q", line)
		if all.Marks != nil {
			require.Equal(t, all.Marks[n], mark, "%q", line)
		} else {
			require.Zero(t, mark)
		}
		n++
	}
	require.Equal(t, all.Len(), n)
}

func sameWithAnotherReader(t *testing.T, text []byte, o Options, all trace.Batch) {
	if text[0] == 0x1f || text[0] == 0x28 || bytes.ContainsAny(text, "\"\r# \v\f") || bytes.Contains(text, []byte("\t\n")) {
		return // what the two take differently on purpose
	}
	l, _, err := readPreamble(text, true, new(int), o)
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))))
	r.Comma = rune(l.separator)
	rows, err := r.ReadAll()
	if err != nil || len(rows)-1 != all.Len() {
		require.Contains(t, string(text), "\t", "only blank lines of tabs may differ: %v", err)
		return
	}
	for i, row := range rows[1:] {
		force, err := strconv.ParseFloat(strings.Replace(row[l.force], string(l.mark), ".", 1), 64)
		require.NoError(t, err)
		require.Equal(t, force*l.newtons, all.F[i])
	}
}

// FuzzNumber compares with strconv wherever a number is accepted.
func FuzzNumber(f *testing.F) {
	for _, s := range []string{"0", "-1.5", "1e5", "9007199254740993", "0.30000000000000004", "1.7976931348623157e308", "nan", "0x1p-2", "1_0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if strings.ContainsAny(s, "\n") {
			return
		}
		got, err := valueOf(s, '.')
		if err != nil {
			return
		}
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		require.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
		ns, err := nanosecondsOf(s)
		if err == nil && len(s) < 40 {
			require.Equal(t, exactNanoseconds(s).String(), strconv.FormatInt(ns, 10))
		}
	})
}
