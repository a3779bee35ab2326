package web_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
