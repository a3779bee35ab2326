package unit

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMoments reads moments against instants written out by hand. The forms are
// those of RFC 3339, section 5.6, where a blank may stand for the T ("for the
// sake of readability"); one without its offset is the time of the zone.
func TestMoments(t *testing.T) {
	zone := time.FixedZone("two hours ahead", 2*60*60)
	day := time.Date(2026, 5, 16, 22, 0, 0, 0, time.UTC) // the first moment of 17 May there
	at := time.Date(2026, 5, 17, 7, 30, 0, 0, time.UTC)
	for s, want := range map[string]time.Time{
		"2026-05-17 09:30":               at,
		" 2026-05-17 09:30 ":             at,
		"2026-05-17T09:30":               at,
		"2026-05-17 09:30:00":            at,
		"2026-05-17T09:30:00":            at,
		"2026-05-17T07:30:00Z":           at,
		"2026-05-17T06:30:00-01:00":      at,
		"2026-05-17 09:30:00.25":         at.Add(250 * time.Millisecond),
		"2026-05-17T07:30:00.000000001Z": at.Add(1),
	} {
		for _, parse := range []func(string, *time.Location) (time.Time, error){ParseMoment, ParseMomentOrDay} {
			got, err := parse(s, zone)
			require.NoError(t, err, s)
			assert.True(t, got.Equal(want), "%s: %v", s, got)
		}
	}

	got, err := ParseMomentOrDay("2026-05-17", zone)
	require.NoError(t, err)
	assert.True(t, got.Equal(day), "%v", got)
	_, err = ParseMoment("2026-05-17", zone)
	assert.ErrorContains(t, err, `"2026-05-17" is not a moment: write it with its time of day`)

	for _, s := range []string{"", "yesterday", "09:30", "2026-13-01 09:30", "2026-05-17 25:00", "17.05.2026"} {
		_, err := ParseMoment(s, zone)
		assert.ErrorContains(t, err, "is not a moment", s)
		_, err = ParseMomentOrDay(s, zone)
		assert.ErrorContains(t, err, "is not a moment: write it as 2026-05-17 09:30, ", s)
	}
}
