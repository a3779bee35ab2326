package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/calc/words"
)

// usageError is a wrong command line: exit code 2, where all other errors
// give 1.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

// usagef makes a usageError.
func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// newRoot is the whole command tree. Every command is one file with one
// constructor, listed here.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "tautlog",
		Short: "Measure what a vehicle-recovery pull does to the gear",
		Long: `Measures what a vehicle-recovery pull does to the gear: records a load cell, finds each pull, and compares its peak with
the rating of every item that carried it. It measures and compares. It does not permit.

Without a command it records the cells that were set up and opens the pages in the browser.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is not a command of tautlog; see: tautlog --help", args[0])
			}
			return nil
		},
		RunE: start,
	}
	root.Version = cmp.Or(version(), words.Say("report.noversion"))
	root.SetVersionTemplate("{{.Name}} {{.Version}}\n")
	speakable(root)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usagef("%w; see: %s --help", err, c.CommandPath())
	})
	for _, g := range []struct {
		title    string
		commands []*cobra.Command
	}{
		{"At the line:", []*cobra.Command{newServe(), newRecord(), newCells(), newCalibrate()}},
		{"Look back:", []*cobra.Command{newPulls(), newJudge(), newReport(), newGear()}},
		{"Plan the next pull:", []*cobra.Command{newPlan(), newMultipliers()}},
		{"Keep and share:", []*cobra.Command{newPeople(), newImport(), newExport(), newArchive(), newBackup(), newRestore(), newTexts()}},
		{tryIt, []*cobra.Command{newDemo()}},
	} {
		root.AddGroup(&cobra.Group{ID: g.title, Title: g.title})
		for _, c := range g.commands {
			c.GroupID = g.title
			root.AddCommand(c)
		}
	}
	root.SetHelpCommandGroupID(tryIt)
	root.SetCompletionCommandGroupID(tryIt)
	return root
}

// tryIt is the group of what a newcomer looks for.
const tryIt = "Try it:"

// exitCode reports err to people and gives the exit code for it.
func exitCode(err error, stderr io.Writer) int {
	if err == nil {
		return 0
	}
	fmt.Fprintln(stderr, "tautlog:", err)
	if _, wrong := errors.AsType[usageError](err); wrong {
		return 2
	}
	return 1
}

// noArgs refuses words behind a command that takes none.
func noArgs(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s takes no %q; see: %s --help", c.CommandPath(), args[0], c.CommandPath())
	}
	return nil
}
