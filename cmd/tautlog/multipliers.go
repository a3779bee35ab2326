package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
)

// newMultipliers is what follows from logged pulls for the next one.
func newMultipliers() *cobra.Command {
	c := &cobra.Command{
		Use:   "multipliers",
		Short: "Fit multipliers from logged pulls, keep sets of them, check an assumed one",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is nothing to do with multipliers; see: %s --help", args[0], c.CommandPath())
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(
		newMultipliersFit(), newMultipliersCheck(), newMultipliersNext(), newMultipliersPlot(),
		newMultipliersKeep(), newMultipliersAssume(), newMultipliersSets(), newMultipliersUse(), newMultipliersCompare(), newMultipliersExport(),
	)
	return c
}

// pullsTable is the part of the help that tells what PULLS.csv is.
const pullsTable = `PULLS.csv has a header with the columns day, kind, ground, strap, peak_N and
reference_kg, and where they are known peak_low_N, peak_high_N, speed_mps,
puller_kg, strap_length_m, strap_mbs_N, flags, reference_low_kg and
reference_high_kg; "-" is standard input. A multiplier is the peak over the
weight of reference_kg. A peak with an interval or a flag that makes it
uncertain counts as an interval. How well a mass is known (reference_low_kg to
reference_high_kg) does not count: a mass stated wrongly is so in all pulls of a
vehicle, and in what is planned with it.`

// tableFlags say how a table of pulls is read.
type tableFlags struct{ decimalComma bool }

func (f *tableFlags) add(c *cobra.Command) {
	c.Flags().BoolVar(&f.decimalComma, "decimal-comma", false, "12,5 means twelve and a half")
}

// read reads the table at path; errors name it.
func (f *tableFlags) read(path string, stdin io.Reader) ([]shock.Pull, error) {
	name, in := "standard input", stdin
	if path != "-" {
		file, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("the table of pulls cannot be opened: %w", err)
		}
		defer file.Close()
		name, in = path, file
	}
	pulls, err := shock.Decode(in, f.decimalComma)
	if err != nil {
		return nil, fmt.Errorf("%s, %w", name, err)
	}
	return pulls, nil
}

// oneTable wants exactly one table of pulls.
func oneTable(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants one table of pulls, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	}
	return nil
}
