package needs

import (
	"encoding/csv"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// Table reads a table of testdata, its header first: CSV after lines that begin
// with # and name the source.
func Table(t testing.TB, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	return rows
}
