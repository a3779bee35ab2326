package main

import (
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// TestAClickStartsTheProgram: the library ends a program that was clicked on
// Windows as long as it has something to say to whoever did.
func TestAClickStartsTheProgram(t *testing.T) {
	t.Parallel()
	require.Empty(t, cobra.MousetrapHelpText)
}

// TestTheWindowOfAClickStaysUntilEnter: what went wrong can be read.
func TestTheWindowOfAClickStaysUntilEnter(t *testing.T) {
	t.Parallel()
	stdin := strings.NewReader("\nrest")
	var stderr strings.Builder
	holdWindow(stdin, &stderr)
	require.Equal(t, "Press Enter to close this window.\n", stderr.String())
}
