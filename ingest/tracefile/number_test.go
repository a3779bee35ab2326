package tracefile

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// plainDecimal draws a number as loggers write it: digits, perhaps a mark,
// perhaps a sign. The reference for its value is strconv.
func plainDecimal(t *rapid.T) string {
	return rapid.OneOf(
		rapid.StringMatching(`-?[0-9]{1,19}`),
		rapid.StringMatching(`-?[0-9]{0,10}\.[0-9]{1,9}`),
		rapid.StringMatching(`-?0\.0{0,8}[0-9]{1,10}`),
		rapid.StringMatching(`-?[0-9]{1,3}\.[0-9]{0,18}[eE][-+]?[0-9]{1,2}`),
		rapid.Map(rapid.Float64(), func(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }),
		rapid.Map(rapid.Float64Range(-1e6, 1e6), func(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }),
		rapid.Map(rapid.Float64Range(-1e6, 1e6), func(f float64) string { return strconv.FormatFloat(f, 'e', 18, 64) }),
	).Draw(t, "number")
}

// valueOf reads s as a line of a trace would be read: the fast way, and where
// that does not reach to the end, the slow one.
func valueOf(s string, mark byte) (float64, error) {
	if d, end := scan([]byte(s+"\n"), 0, mark); end == len(s) {
		if v, ok := d.value(); ok {
			return v, nil
		}
	}
	return anyDecimal([]byte(s), mark)
}

func TestNumberIsTheNearestFloat(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := plainDecimal(t)
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		got, err := valueOf(s, '.')
		require.NoError(t, err)
		require.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
		got, err = valueOf(strings.Replace(s, ".", ",", 1), ',')
		require.NoError(t, err)
		require.Equal(t, want, got, "with a decimal comma")
	})
}

// Between two neighbouring floats lies the place where rounding turns. The
// digits around it, 17 and more of them, are where a shortcut would show.
func TestNumberAtTheEdgeOfRounding(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(1e-3, 1e9).Draw(t, "float")
		middle := new(big.Float).SetPrec(200).Add(big.NewFloat(f), big.NewFloat(math.Nextafter(f, math.Inf(1))))
		middle.Mul(middle, big.NewFloat(0.5))
		s := middle.Text('f', 18)
		if whole := strings.IndexByte(s, '.'); len(s) > 20 {
			s = s[:max(20, whole)]
		}
		last := rapid.IntRange(-1, 1).Draw(t, "last digit")
		if c := s[len(s)-1] + byte(last); '0' <= c && c <= '9' {
			s = s[:len(s)-1] + string(c)
		}
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		got, err := valueOf(s, '.')
		require.NoError(t, err)
		require.Equal(t, want, got, s)
	})
}

func TestNumberForms(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]float64{
		"0": 0, "-0": math.Copysign(0, -1), "+5": 5, "5.": 5, ".5": 0.5, "-.5": -0.5, "007.50": 7.5,
		"1e3": 1000, "1E+3": 1000, "-2.5e-3": -0.0025, "1.000000000000000021e-03": 0.001,
		"9007199254740993":                         9007199254740992, // 2⁵³+1, a tie, to even
		"9007199254740993.0000000000000000001":     9007199254740994,
		"123456789012345678901234567890":           1.2345678901234568e29,
		"0.00000000000000000000000000000000001":    1e-35,
		"179769313486231570000000000000000000e273": math.MaxFloat64,
	} {
		got, err := valueOf(s, '.')
		require.NoError(t, err, s)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
	}
}

func TestNumberRefused(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]error{
		"": ErrNumber, "-": ErrNumber, "+": ErrNumber, ".": ErrNumber, "e5": ErrNumber, "1e": ErrNumber, "1e+": ErrNumber,
		"1.2.3": ErrNumber, "0x10": ErrNumber, "1_000": ErrNumber, "1 000": ErrNumber, "--1": ErrNumber, "1,5": ErrNumber,
		"abc": ErrNumber, "1e5x": ErrNumber, "１": ErrNumber, "1e1e1": ErrNumber, "1e-": ErrNumber,
		"NaN": ErrNotFinite, "nan": ErrNotFinite, "-inf": ErrNotFinite, "Infinity": ErrNotFinite, "+Inf": ErrNotFinite,
		"1e999": ErrNotFinite, "-1e400": ErrNotFinite,
	} {
		_, err := valueOf(s, '.')
		assert.ErrorIs(t, err, want, "%q", s)
	}
}

// nanosecondsOf reads s as seconds in the way of a line.
func nanosecondsOf(s string) (int64, error) {
	if d, end := scan([]byte(s+"\n"), 0, '.'); end == len(s) {
		if n, ok := d.nanoseconds(); ok {
			return n, nil
		}
	}
	return anySeconds([]byte(s), '.')
}

// The reference is exact arithmetic on fractions.
func exactNanoseconds(s string) *big.Int {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("not a number: " + s)
	}
	r.Mul(r, big.NewRat(1e9, 1))
	twice := new(big.Rat).Add(new(big.Rat).Abs(r), big.NewRat(1, 2))
	n := new(big.Int).Quo(twice.Num(), twice.Denom())
	if r.Sign() < 0 {
		n.Neg(n)
	}
	return n
}

func TestSecondsAreExactToTheNanosecond(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(
			rapid.StringMatching(`-?[0-9]{1,9}(\.[0-9]{0,20})?`),
			rapid.StringMatching(`[0-9]\.[0-9]{1,18}e[-+]0[0-8]`),
			rapid.StringMatching(`[0-9]{1,3}\.[0-9]{0,18}e-[0-9]{1,4}`),
			rapid.StringMatching(`0\.0{6,9}[0-9]{1,8}`),
			rapid.StringMatching(`1[0-9]{9}\.[0-9]{1,12}`),
			rapid.StringMatching(`[0-9]{1,3}\.[0-9]{9}5`),
		).Draw(t, "seconds")
		got, err := nanosecondsOf(s)
		require.NoError(t, err)
		require.Equal(t, exactNanoseconds(s).String(), strconv.FormatInt(got, 10), s)
	})
}

func TestSecondsOutOfRange(t *testing.T) {
	t.Parallel()
	got, err := nanosecondsOf("9223372036.854775807")
	require.NoError(t, err)
	assert.Equal(t, int64(math.MaxInt64), got)
	for _, s := range []string{"9223372036.854775808", "-9223372036.854775808", "1764054841000", "1e300", "1e99999999999999999999"} {
		_, err := nanosecondsOf(s)
		assert.ErrorIs(t, err, ErrTime, s)
	}
	for _, s := range []string{"0e99999999999999999999", "1e-99999999999999999999", "0.0000000000000000000000000000001"} {
		got, err := nanosecondsOf(s)
		require.NoError(t, err, s)
		assert.Zero(t, got, s)
	}
}
