package web

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A new directory has a plain name: nothing that leads elsewhere, nothing hidden,
// nothing longer than a file system takes.
func TestDirectoryName(t *testing.T) {
	t.Parallel()
	for name, may := range map[string]bool{
		"spring": true, "2026-05-17 river bar": true, "Übung_2": true, "測量": true, strings.Repeat("ä", directoryNameMost): true,
		"": false, "..": false, ".hidden": false, "a/b": false, `a\b`: false, " a": false, "a\n": false, "a\x00": false, "a\xff": false, strings.Repeat("a", directoryNameMost+1): false,
	} {
		assert.Equal(t, may, isDirectoryName(name), "%q", name)
	}
}
