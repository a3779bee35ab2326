//go:build unix

package archivetest

import (
	"encoding/csv"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Flux asks in Flux, past the program, and gives the rows of the answer,
// column by name, without those that only say where a row belongs.
func (s *Server) Flux(t testing.TB, question string) (rows []map[string]string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL+"/api/v2/query", strings.NewReader(question))
	require.NoError(t, err)
	r.Header.Set("Authorization", "Token "+Token)
	r.Header.Set("Content-Type", "application/vnd.flux")
	r.Header.Set("Accept", "application/csv")
	res, err := client.Do(r)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, res.StatusCode, "%s: %s", question, body)
	for part := range strings.SplitSeq(strings.ReplaceAll(string(body), "\r\n", "\n"), "\n\n") {
		c := csv.NewReader(strings.NewReader(part))
		c.Comment = '#'
		lines, err := c.ReadAll()
		require.NoError(t, err, part)
		for i := 1; i < len(lines); i++ {
			row := map[string]string{}
			for j, name := range lines[0] {
				if name != "" && name != "result" && name != "table" {
					row[name] = lines[i][j]
				}
			}
			require.NotContains(t, row, "error", "%s: %v", question, row)
			rows = append(rows, row)
		}
	}
	return rows
}
