package main

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The planning examples of the README that need no file are run as they stand
// there.
func TestReadmeExamplesOfPlans(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	text := strings.ReplaceAll(string(readme), "\\\n", "")
	examples := regexp.MustCompile(`(?m)^    \./tautlog (plan (?:kinetic|steady) .*)$`).FindAllStringSubmatch(text, -1)
	require.GreaterOrEqual(t, len(examples), 3)
	for _, e := range examples {
		if strings.Contains(e[1], "--rig") {
			continue
		}
		var stdout, stderr bytes.Buffer
		code := run(t.Context(), strings.Fields(e[1]), io.MultiReader(), &stdout, &stderr)
		assert.Zero(t, code, "%s: %s", e[1], stderr.String())
		assert.Contains(t, stdout.String(), "Cautions:", e[1])
	}
}
