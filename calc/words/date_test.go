package words

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestDates: in English as package time has them, in another language as that
// has them (3 October 2026 is a Saturday, "sobota, 3 października 2026" in Polish).
func TestDates(t *testing.T) {
	defer inUse.Store(inUse.Load())
	for day := time.Date(2026, 1, 1, 9, 5, 0, 0, time.UTC); day.Year() == 2026; day = day.AddDate(0, 0, 1) {
		assert.Equal(t, day.Format("Monday, 2 January 2006"), Weekday(day))
		assert.Equal(t, day.Format("2 January 2006, 15:04"), DateAt(day, "15:04"))
	}
	require.NoError(t, Use(strings.NewReader(`{"language":"pl","texts":{"date.weekday.6":"sobota","date.month.10":"października"}}`)))
	assert.Equal(t, "sobota, 3 października 2026", Weekday(time.Date(2026, 10, 3, 0, 0, 0, 0, time.UTC)))
	require.NoError(t, Use(strings.NewReader(`{"language":"zh","texts":{"date.day":"%[3]d年%[2]s%[1]d日","date.month.10":"10月"}}`)))
	assert.Equal(t, "2026年10月3日", Date(time.Date(2026, 10, 3, 0, 0, 0, 0, time.UTC)))
}

func TestDateOf(t *testing.T) {
	for in, want := range map[string]string{
		"2026-05-17": "17 May 2026", "2026-05": "May 2026", "2026": "2026", "2026-05-17T09:30:00Z": "17 May 2026", "": "", "last spring": "last spring",
	} {
		assert.Equal(t, want, DateOf(in))
	}
}
