package tracefile

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The reference is package time.
func TestInstantAgreesWithTheCalendar(t *testing.T) {
	t.Parallel()
	first, last := time.Date(1678, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano(), time.Date(2261, 12, 31, 23, 59, 59, 0, time.UTC).UnixNano()
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(0, rapid.Int64Range(first, last).Draw(t, "ns")).UTC()
		at = at.Truncate(rapid.SampledFrom([]time.Duration{1, time.Microsecond, time.Millisecond, time.Second}).Draw(t, "step"))
		s := at.Format(time.RFC3339Nano)
		got, end := fastInstant([]byte(s+"\n"), 0)
		require.Equal(t, len(s), end, "the fast way takes %s", s)
		require.Equal(t, at.UnixNano(), got, s)
		zone := time.FixedZone("", rapid.IntRange(-14*60, 14*60).Draw(t, "offset")*60)
		slow, err := anyInstant([]byte(at.In(zone).Format(time.RFC3339Nano)))
		require.NoError(t, err)
		require.Equal(t, got, slow, "in %s", zone)
	})
}

func TestInstantForms(t *testing.T) {
	t.Parallel()
	want := time.Date(2026, 2, 28, 9, 30, 0, 125e6, time.UTC).UnixNano()
	for _, s := range []string{"2026-02-28T09:30:00.125Z", "2026-02-28 09:30:00.125Z", "2026-02-28t09:30:00.125z", "2026-02-28T11:30:00.125+02:00"} {
		got, err := anyInstant([]byte(s))
		require.NoError(t, err, s)
		assert.Equal(t, want, got, s)
	}
	for _, s := range []string{
		"2026-02-29T09:30:00Z", "2026-13-01T09:30:00Z", "2026-01-01T24:00:00Z", "2026-01-01T23:59:60Z", "2026-04-31T00:00:00Z",
		"2026-02-28T09:30:00", "2026-02-28", "2026-02-28T09:30Z", "1600-01-01T00:00:00Z", "2300-01-01T00:00:00Z", "2026-02-28T09:30:00.Z", "2026-02-28T09:30:00.55e1Z", "", "x",
	} {
		_, err := anyInstant([]byte(s))
		assert.ErrorIs(t, err, ErrTime, "%q", s)
		_, end := fastInstant([]byte(s+"\n"), 0)
		assert.Negative(t, end, "%q", s)
	}
}
