package web_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/ingest/store"
)

// TestWhatToDoNext: the page of a pull and the sheet of its day say what to do
// about an item that was over its rating, and lead to where that is done. Of what
// was far below its limit they say nothing.
func TestWhatToDoNext(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	items, err := f.store.Items(t.Context())
	require.NoError(t, err)
	leads := ""
	for _, d := range items {
		if d.Value.Name == "bow shackle 13" {
			leads = fmt.Sprintf(`href="/gear/%d">Inspect bow shackle 13, or take it out of service</a>`, d.ID)
		}
	}
	require.NotEmpty(t, leads)
	for _, at := range []string{fmt.Sprintf("/pulls/%d", f.pull.ID), "/days/2026-03-14"} {
		page := f.page(t, at)
		assert.Contains(t, page, leads, at)
		assert.Contains(t, spoken(page), "Take it out of use until somebody competent has looked it over", at)
		assert.NotContains(t, page, "Inspect River-1", at)
	}
}

// TestALowerBoundIsNoInterval: where readings are missing beside the largest,
// nobody knows the true peak, so no interval of it is told; and what the reason
// says of the rating is not said twice.
func TestALowerBoundIsNoInterval(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	at := found()
	at.Start, at.End, at.PeakAt = at.Start+3600e9, at.End+3600e9, at.PeakAt+3600e9
	at.Flags = append(at.Flags, pull.FlagGapAtPeak)
	p, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: at, Rig: &f.rig.Value, Settled: true})
	require.NoError(t, err)
	said := spoken(f.page(t, fmt.Sprintf("/pulls/%d", p.ID)))
	assert.Contains(t, said, " kN (or more: the true peak is not known)")
	assert.Contains(t, said, "the largest reading is only a lower bound. It may have been over rating. Look it over as if it had been over its rating: the true peak is not known, and it may have been.")
	assert.NotContains(t, said, "At the upper end of the interval")
}
