package tracefile_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// read gives all samples of a trace on standard input.
func read(r io.Reader, o tracefile.Options) (all trace.Batch, err error) {
	f, err := tracefile.Open("-", r, o)
	if err != nil {
		return all, err
	}
	defer f.Close()
	return collect(f)
}

func collect(f *tracefile.File) (all trace.Batch, err error) {
	err = f.Each(context.Background(), func(b trace.Batch) error {
		all.T, all.F = append(all.T, b.T...), append(all.F, b.F...)
		return nil
	})
	return all, err
}

func TestReads(t *testing.T) {
	t.Parallel()
	ms := []int64{0, 1e6, 2e6}
	for name, c := range map[string]struct {
		text    string
		options tracefile.Options
		t       []int64
		f       []float64
	}{
		"plain":            {text: "t_s,force_N\n0,1\n0.001,-2.5\n0.002,3\n", t: ms, f: []float64{1, -2.5, 3}},
		"no last newline":  {text: "t_s,force_N\n0,1\n0.001,2\n0.002,3", t: ms, f: []float64{1, 2, 3}},
		"CRLF":             {text: "time_s,force_kN\r\n0,1\r\n0.001,2\r\n0.002,3\r\n", t: ms, f: []float64{1000, 2000, 3000}},
		"BOM":              {text: "\xef\xbb\xbftime,force_kgf\n0,1\n0.001,2\n0.002,4\n", t: ms, f: []float64{9.80665, 2 * 9.80665, 4 * 9.80665}},
		"blank lines":      {text: "\nt_s,force_lbf\n\n0,1\n0.001,2\n  \n0.002,4\n\n\r\n", t: ms, f: []float64{4.4482216152605, 2 * 4.4482216152605, 4 * 4.4482216152605}},
		"comments on top":  {text: "# cell 7\n# day 2\nt_s,force_t\n0,1\n0.001,2\n0.002,4\n", t: ms, f: []float64{9806.65, 2 * 9806.65, 4 * 9806.65}},
		"semicolon":        {text: "t_s;force_N\n0;1\n0.001;2\n0.002;3\n", t: ms, f: []float64{1, 2, 3}},
		"tab":              {text: "t_s\tforce_N\n0\t1\n0.001\t2\n0.002\t3\n", t: ms, f: []float64{1, 2, 3}},
		"decimal comma":    {text: "t_s;force_kN\n0;1,5\n0,001;2\n0,002;3\n", options: tracefile.Options{DecimalComma: true}, t: ms, f: []float64{1500, 2000, 3000}},
		"quoted comma":     {text: "t_s,force_N\n\"0\",\"1,5\"\n\"0,001\",\"2\"\n\"0,002\",3\n", options: tracefile.Options{DecimalComma: true}, t: ms, f: []float64{1.5, 2, 3}},
		"quoted header":    {text: "\"t_s\",\"force_N\",\"what, if anything\"\n0,1,\"a,b\"\n0.001,2,\"say \"\"no\"\"\"\n0.002,3,c\n", t: ms, f: []float64{1, 2, 3}},
		"more columns":     {text: "n,force_N,temperature,t_s,name\n1,1,20,0,a b\n2,2,20,0.001,\n3,3,,0.002,c\n", t: ms, f: []float64{1, 2, 3}},
		"blanks":           {text: "t_s, force_N\n 0, 1 \n0.001 , 2\n0.002,\" 3 \"\n", t: ms, f: []float64{1, 2, 3}},
		"exponents":        {text: "t_s,force_N\n0.0e+00,1e0\n1.000000000000000021e-03,2E0\n2e-3,+3\n", t: ms, f: []float64{1, 2, 3}},
		"before zero":      {text: "t_s,force_N\n-0.001,1\n0,2\n0.001,3\n", t: []int64{-1e6, 0, 1e6}, f: []float64{1, 2, 3}},
		"since 1970":       {text: "time,force_N\n1764054841.000000001,1\n1764054841.000000002,2\n", t: []int64{1764054841000000001, 1764054841000000002}, f: []float64{1, 2}},
		"RFC 3339":         {text: "time,force_N\n2026-05-31T09:30:00.125Z,1\n2026-05-31T11:30:00.126+02:00,2\n", t: []int64{1780219800125000000, 1780219800126000000}, f: []float64{1, 2}},
		"named columns":    {text: "when,load_cell\n0,1\n0.001,2\n0.002,3\n", options: tracefile.Options{TimeColumn: "when", ForceColumn: "load_cell", Unit: unit.Kilonewton}, t: ms, f: []float64{1000, 2000, 3000}},
		"plain force":      {text: "t_s,force\n0,1\n0.001,2\n0.002,3\n", options: tracefile.Options{Unit: unit.Kilonewton}, t: ms, f: []float64{1000, 2000, 3000}},
		"one of two":       {text: "t_s,force_N,force_kN\n0,9,1\n0.001,9,2\n0.002,9,3\n", options: tracefile.Options{ForceColumn: "force_kN"}, t: ms, f: []float64{1000, 2000, 3000}},
		"one reading":      {text: "t_s,force_N\n5,1", t: []int64{5e9}, f: []float64{1}},
		"comma in a name":  {text: "t_s;force_N;\"slack, taut, or, what\"\n0;1;a\n", t: []int64{0}, f: []float64{1}},
		"17 digits":        {text: "t_s,force_N\n0.30000000000000004,12345.678901234567\n", t: []int64{3e8}, f: []float64{12345.678901234567}},
		"letters of 8 bit": {text: "t_s,force_N,gr\xf6\xdfe\n0,1,2\n", t: []int64{0}, f: []float64{1}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, err := read(strings.NewReader(c.text), c.options)
			require.NoError(t, err)
			assert.Equal(t, c.t, got.T)
			assert.Equal(t, c.f, got.F)
		})
	}
}

// longTrace is several chunks of samples on lines of unlike length, with the
// columns in an odd order.
func longTrace(n int) (text []byte, want trace.Batch) {
	random := rand.New(rand.NewPCG(1, 2))
	text = []byte("note,force_kN,t_s\n")
	at := int64(-5e9)
	for range n {
		at += 1 + random.Int64N(3e6)
		f := random.NormFloat64() * 50
		text = append(text, strings.Repeat("x", random.IntN(30))...)
		text = append(text, ',')
		text = strconv.AppendFloat(text, f, 'f', 2+random.IntN(16), 64)
		field := text[bytes.LastIndexByte(text, ',')+1:]
		kept, err := strconv.ParseFloat(string(field), 64)
		if err != nil {
			panic(err)
		}
		text = append(text, ',')
		if at < 0 {
			text = append(text, '-')
		}
		text = fmt.Appendf(text, "%d.%09d\n", max(at, -at)/1e9, max(at, -at)%1e9)
		want.T, want.F = append(want.T, at), append(want.F, kept*1000)
	}
	return text, want
}

func TestLongTraceInOrder(t *testing.T) {
	t.Parallel()
	text, want := longTrace(100_000)
	for name, r := range map[string]io.Reader{
		"whole":     bytes.NewReader(text),
		"halves":    iotest.HalfReader(bytes.NewReader(text)),
		"late end":  iotest.DataErrReader(bytes.NewReader(text)),
		"in gzip":   bytes.NewReader(gzipped(text)),
		"members":   io.MultiReader(bytes.NewReader(gzipped(text[:1000])), bytes.NewReader(gzipped(text[1000:]))),
		"in zstd":   bytes.NewReader(zstandard(t, text)),
		"zstd rest": iotest.DataErrReader(bytes.NewReader(zstandard(t, text))),
	} {
		got, err := read(r, tracefile.Options{})
		require.NoError(t, err, name)
		require.Equal(t, want.T, got.T, name)
		require.Equal(t, want.F, got.F, name)
	}
}

func gzipped(b []byte) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	z.Write(b)
	z.Close()
	return out.Bytes()
}

func zstandard(t *testing.T, b []byte) []byte {
	z, err := zstd.NewWriter(nil)
	require.NoError(t, err)
	return z.EncodeAll(b, nil)
}

// Largest must see what Each sees, from a file, from standard input and
// through a packed file, and Each must still begin at the beginning.
func TestLargestBeforeEach(t *testing.T) {
	t.Parallel()
	text, want := longTrace(60_000)
	largest := 0.0
	for _, f := range want.F {
		largest = max(largest, f)
	}
	path := filepath.Join(t.TempDir(), "trace.csv")
	require.NoError(t, os.WriteFile(path, text, 0o600))
	packed := path + ".bin"
	require.NoError(t, os.WriteFile(packed, gzipped(text), 0o600))
	for name, open := range map[string]func() (*tracefile.File, error){
		"file":        func() (*tracefile.File, error) { return tracefile.Open(path, nil, tracefile.Options{}) },
		"packed file": func() (*tracefile.File, error) { return tracefile.Open(packed, nil, tracefile.Options{}) },
		"standard input": func() (*tracefile.File, error) {
			return tracefile.Open("-", bytes.NewReader(text), tracefile.Options{})
		},
		"packed on input": func() (*tracefile.File, error) {
			return tracefile.Open("-", bytes.NewReader(gzipped(text)), tracefile.Options{})
		},
	} {
		f, err := open()
		require.NoError(t, err, name)
		got, err := f.Largest(context.Background())
		require.NoError(t, err, name)
		assert.Equal(t, unit.Force(largest), got, name)
		all, err := collect(f)
		require.NoError(t, err, name)
		assert.Equal(t, want, all, name)
		require.NoError(t, f.Close(), name)
	}
}

func TestLargestLeavesFaultsToEach(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "t_s,force_N\n", "x,y\n1,2\n", "t_s,force_N\n0,1\n0.001,NaN\n0.002,5\n"} {
		f, err := tracefile.Open("-", strings.NewReader(text), tracefile.Options{})
		require.NoError(t, err)
		_, err = f.Largest(context.Background())
		require.NoError(t, err, "%q", text)
		_, err = collect(f)
		_, isFault := errors.AsType[*tracefile.Error](err)
		assert.True(t, isFault, "%q gives %v", text, err)
		require.NoError(t, f.Close())
	}
}

func TestFileThatChangesIsRefused(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "trace.csv")
	require.NoError(t, os.WriteFile(path, []byte("t_s,force_N\n0,1\n0.001,2\n"), 0o600))
	f, err := tracefile.Open(path, nil, tracefile.Options{})
	require.NoError(t, err)
	defer f.Close()
	_, err = f.Largest(context.Background())
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte("t_s,force_N\n0,1\n0.001,3\n"), 0o600))
	_, err = collect(f)
	require.ErrorIs(t, err, tracefile.ErrChanged)
}

func TestEndsEarly(t *testing.T) {
	t.Parallel()
	text, _ := longTrace(100_000)
	stop := errors.New("enough")
	f, err := tracefile.Open("-", bytes.NewReader(text), tracefile.Options{})
	require.NoError(t, err)
	require.ErrorIs(t, f.Each(context.Background(), func(trace.Batch) error { return stop }), stop)

	ctx, cancel := context.WithCancel(context.Background())
	f, err = tracefile.Open("-", bytes.NewReader(text), tracefile.Options{})
	require.NoError(t, err)
	require.ErrorIs(t, f.Each(ctx, func(trace.Batch) error { cancel(); return nil }), context.Canceled)
}

// A person who types a trace and thinks better of it is not kept waiting for
// the next line.
func TestWaitingInputCanBeGivenUp(t *testing.T) {
	t.Parallel()
	r, w := io.Pipe()
	defer w.Close()
	defer r.Close()
	ctx, cancel := context.WithCancel(context.Background())
	f, err := tracefile.Open("-", r, tracefile.Options{})
	require.NoError(t, err)
	done := make(chan error, 1)
	go func() { done <- f.Each(ctx, func(trace.Batch) error { return nil }) }()
	_, err = w.Write([]byte("t_s,force_N\n"))
	require.NoError(t, err)
	cancel()
	require.ErrorIs(t, <-done, context.Canceled)
}

func TestReadErrorIsNoFaultOfTheTrace(t *testing.T) {
	t.Parallel()
	broken := errors.New("the disk is gone")
	_, err := read(io.MultiReader(strings.NewReader("t_s,force_N\n0,1\n0.001,2\n"), iotest.ErrReader(broken)), tracefile.Options{})
	require.ErrorIs(t, err, broken)
	_, isFault := errors.AsType[*tracefile.Error](err)
	assert.False(t, isFault)
}
