package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
)

// multiplierExport is what was asked of "tautlog multipliers export".
type multiplierExport struct {
	keepsSets
	classes, pulls bool
	output         string
}

// newMultipliersExport writes a kept set to a file.
func newMultipliersExport() *cobra.Command {
	m := &multiplierExport{}
	c := &cobra.Command{
		Use:   "export NAME[@VERSION] --data DIR --json|--csv|--pulls-csv [-o FILE]",
		Short: "Write a kept set of multipliers to a file",
		Long: `Writes a kept set: all of it as JSON, the pulls behind it included; what to plan
with as CSV, one line a class; or the pulls behind it as CSV, which
"multipliers fit" reads again.`,
		Args: oneSet,
		RunE: m.run,
	}
	f := c.Flags()
	f.StringVar(&m.dir, "data", "", "`directory` of the store")
	f.BoolVar(&m.json, "json", false, "all of it, as one JSON document")
	f.BoolVar(&m.classes, "csv", false, "the multipliers of each class, as CSV")
	f.BoolVar(&m.pulls, "pulls-csv", false, "the pulls behind it, as CSV")
	f.StringVarP(&m.output, "output", "o", "-", "`file` to write, complete or not at all; - is standard output")
	return c
}

func (m *multiplierExport) run(c *cobra.Command, args []string) error {
	write, err := m.form(c)
	if err != nil {
		return err
	}
	db, err := m.read(c)
	if err != nil {
		return err
	}
	defer db.Close()
	set, err := m.find(c.Context(), db, args[0])
	switch {
	case err != nil:
		return err
	case m.pulls && len(set.Pulls) == 0:
		return fmt.Errorf("%s is assumed: there are no pulls behind it; export it with --json or --csv", set.Label())
	case m.output == "-":
		return write(c.OutOrStdout(), set)
	}
	return writeFile(m.output, func(w io.Writer) error { return write(w, set) })
}

// form is the one way of writing that was asked for.
func (m *multiplierExport) form(c *cobra.Command) (write func(io.Writer, shock.Kept) error, err error) {
	asked := 0
	for _, f := range []struct {
		given bool
		write func(io.Writer, shock.Kept) error
	}{
		{m.json, func(w io.Writer, k shock.Kept) error { return writeJSON(w, k) }},
		{m.classes, func(w io.Writer, k shock.Kept) error { return k.WriteClasses(w) }},
		{m.pulls, func(w io.Writer, k shock.Kept) error { return shock.WritePulls(w, k.Pulls) }},
	} {
		if f.given {
			asked++
			write = f.write
		}
	}
	if asked != 1 {
		return nil, usagef("%s wants one of --json, --csv and --pulls-csv", c.CommandPath())
	}
	return write, nil
}
