package store

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestAddress: the first two are the examples of sqlite.org/uri.html for Unix
// and for Windows; that of a share has an empty authority, since SQLite refuses
// any other.
func TestAddress(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]string{
		"/home/fred/data.db":                             "file:///home/fred/data.db?mode=ro&cache=private",
		"C:/Documents and Settings/fred/Desktop/data.db": "file:///C:/Documents%20and%20Settings/fred/Desktop/data.db?mode=ro&cache=private",
		"//club/shared/data.db":                          "file:////club/shared/data.db?mode=ro&cache=private",
		"D:/Übung #2?/data.db":                           "file:///D:/%C3%9Cbung%20%232%3F/data.db?mode=ro&cache=private",
	} {
		require.Equal(t, want, address(path, []string{"mode=ro", "cache=private"}))
	}
}
