package derive_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/ingest/derive"
)

func TestMoment(t *testing.T) {
	t.Parallel()
	east := time.FixedZone("five hours ahead", 5*3600)
	near := time.Date(2026, 5, 17, 23, 59, 58, 250e6, east)
	for text, want := range map[string]time.Time{
		"23:59:57.5":                near.Add(-750 * time.Millisecond),
		" 00:00:01.123456789 ":      time.Date(2026, 5, 18, 0, 0, 1, 123456789, east),
		"1.25 s":                    near.Add(1250 * time.Millisecond),
		"-0.3s":                     near.Add(-300 * time.Millisecond),
		"2026-05-17T19:00:00Z":      time.Date(2026, 5, 18, 0, 0, 0, 0, east),
		"2026-05-18T00:00:00+05:00": time.Date(2026, 5, 18, 0, 0, 0, 0, east),
	} {
		got, err := derive.Moment(text, near)
		require.NoError(t, err, text)
		assert.True(t, want.Equal(got), "%s: %s", text, got)
	}
	for _, text := range []string{"", "s", "now", "25:00:00", "12", "1e9 s", "NaN s", "Inf s", "10:00", "10:00:61", "2026-05-17"} {
		_, err := derive.Moment(text, near)
		assert.ErrorContains(t, err, "is not a moment", text)
	}
	rapid.Check(t, func(t *rapid.T) {
		near := time.Unix(0, rapid.Int64Range(1e18, 2e18).Draw(t, "near")).In(east)
		at := near.Add(time.Duration(rapid.Int64Range(-12*3600e3+1, 12*3600e3-1).Draw(t, "away")) * time.Millisecond).Truncate(time.Millisecond)
		got, err := derive.Moment(at.Format(derive.MomentShown), near)
		require.NoError(t, err)
		require.True(t, at.Equal(got), "what is shown is read back: %s, %s", at, got)
	})
}
