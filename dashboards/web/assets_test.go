package web

import (
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWithoutAssets asks for a page of a program that was built without its
// script: it says what to run, and refers to nothing that is not there.
func TestWithoutAssets(t *testing.T) {
	t.Parallel()
	all, err := loadPages()
	require.NoError(t, err)
	s := &server{pages: all}
	var b strings.Builder
	require.NoError(t, s.write(&b, httptest.NewRequest("GET", "/plan", nil), "plan", "Plan", nil))
	assert.Contains(t, b.String(), "go generate ./...")
	assert.NotContains(t, b.String(), "/assets/")
	assert.NotContains(t, b.String(), "<script")
}

// TestLockNamesNoHost holds the lock file free of download addresses, so that
// it is the same wherever packages come from.
func TestLockNamesNoHost(t *testing.T) {
	t.Parallel()
	lock, err := os.ReadFile("assets/package-lock.json")
	require.NoError(t, err)
	assert.NotContains(t, string(lock), `"resolved"`)
	assert.Contains(t, string(lock), `"integrity"`)
	for _, name := range []string{"uplot", "esbuild", "typescript", "axe-core"} {
		assert.Contains(t, string(lock), `"node_modules/`+name+`"`)
	}
}

// TestDigits holds the live reading to what a cell can tell.
func TestDigits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		capacity, force float64
		unit, want      string
	}{
		{100_000, 47_312, "kN", "47.3"}, {50_000, 47_312, "kN", "47.3"}, {5_000, 1_234.5, "kN", "1.23"},
		{0, 47_312, "kN", "47.3"}, {100_000, 47_312, "lbf", "10640"}, {100_000, 47_312, "t", "4.82"}, {100_000, -20, "kN", "0.0"},
	} {
		assert.Equal(t, c.want, shownDigits(c.capacity, c.force, c.unit), "%v", c)
	}
}
