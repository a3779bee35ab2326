package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRegisterTried: what a file would change is told from what to what, in the
// words of the pages, and nothing is written.
func TestRegisterTried(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "store")
	gear := func(name, length, wll string) string {
		path := filepath.Join(t.TempDir(), name)
		doc := `{"items": [{"name": "blue strap", "kind": "recovery strap", "length": "` + length + `", "ratings": [{"basis": "WLL", "value": "` + wll + `"}]}]}`
		require.NoError(t, os.WriteFile(path, []byte(doc), 0o600))
		return path
	}
	first, second := gear("first.json", "9 m", "40 kN"), gear("second.json", "8 m", "46.6 kN")
	assert.Equal(t, "new item blue strap\nwritten: 1 new, 0 changed, 0 the same\n", printed(t, "import", "--data", dir, "--gear", first))
	want := "changed item blue strap: length was 9m, now 8m; what it is rated for was WLL 40 kN, now WLL 46.6 kN\n"
	for range 2 {
		assert.Equal(t, want+"nothing is written; it would be: 0 new, 1 changed, 0 the same\n", printed(t, "import", "--data", dir, "--gear", second, "--dry-run"))
	}
	var told struct {
		Outcomes []struct{ Fields []string }
	}
	require.NoError(t, json.Unmarshal([]byte(printed(t, "import", "--data", dir, "--gear", second, "--dry-run", "--json")), &told))
	assert.Equal(t, []string{"length", "ratings"}, told.Outcomes[0].Fields)
	assert.Equal(t, want+"written: 0 new, 1 changed, 0 the same\n", printed(t, "import", "--data", dir, "--gear", second))
}
