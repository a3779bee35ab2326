package strict_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/strict"
)

func TestReadTable(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"comma":     "# made by hand\n\na,b\n1 , 2\n\n3,4\n",
		"semicolon": "# made by hand\n\na;b\n1;2\n\n3;4",
		"tab":       "\ufeff# made by hand\r\n\r\na\tb\r\n1\t2\r\n\r\n3\t4\r\n",
	} {
		header, rows, err := strict.ReadTable(strings.NewReader(text))
		require.NoError(t, err, name)
		assert.Equal(t, strict.Row{Line: 3, Cells: []string{"a", "b"}}, header, name)
		assert.Equal(t, []strict.Row{{4, []string{"1", "2"}}, {6, []string{"3", "4"}}}, rows, name)
	}
	header, rows, err := strict.ReadTable(strings.NewReader("a;b\n1,5;\"x;y\"\n"))
	require.NoError(t, err)
	assert.Len(t, header.Cells, 2)
	assert.Equal(t, []string{"1,5", "x;y"}, rows[0].Cells)
}

// TestCell writes what spreadsheets calculate so that they do not, and reads it
// back as it was. The signs are those of OWASP, CSV Injection (from memory).
func TestCell(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+49 1": "'+49 1", "-2°": "'-2°", "@SUM(A1)": "'@SUM(A1)", "\t=1": "'\t=1", "＝1": "'＝1",
		"'=1": "''=1", "''-": "'''-", "'": "'", "'s": "'s", "a=1": "a=1", "5": "5", "\"=\"": "\"=\"",
	} {
		assert.Equal(t, want, strict.Cell(text), "%q", text)
		var b bytes.Buffer
		require.NoError(t, csv.NewWriter(&b).WriteAll([][]string{{"text", "n"}, {strict.Cell(text), "1"}}))
		_, rows, err := strict.ReadTable(&b)
		require.NoError(t, err)
		assert.Equal(t, text, rows[0].Cells[0])
	}
}

func TestReadTableRefuses(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":                  "the table is empty",
		"# only words\n\n":  "the table is empty",
		"a,b\n":             "line 1: there are no rows",
		"#\na,a\n1,2\n":     `line 2: two columns are named "a"`,
		"a,\n1,2\n":         "line 1: column 2 has no name",
		"a,b\n1,2\n1,2,3\n": "line 3: this line has 3 cells where the header has 2",
		"a,b\n1,\"2\n":      "line 2: a quoted value",
		"a,b\n1,\x00\n":     "no text",
	} {
		_, _, err := strict.ReadTable(strings.NewReader(text))
		_, ok := errors.AsType[*strict.Error](err)
		require.True(t, ok, "%q: %v", text, err)
		assert.ErrorContains(t, err, want, "%q", text)
	}
	_, _, err := strict.ReadTable(strings.NewReader("a\n" + strings.Repeat("1\n", strict.MaxBytes/2)))
	require.ErrorIs(t, err, strict.ErrTooLarge)
	_, _, err = strict.ReadTable(iotest.ErrReader(assert.AnError))
	require.ErrorIs(t, err, assert.AnError)
}
