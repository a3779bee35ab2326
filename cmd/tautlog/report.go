package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/calc/unit"
	"tautlog/dashboards/gather"
	"tautlog/dashboards/report"
	"tautlog/ingest/store"
)

// reportFlags say what to report on and how.
type reportFlags struct {
	dir, day, out, by string
	pull              int64
	show              unit.ForceUnit
}

// newReport is the command that writes the report of a day or a pull.
func newReport() *cobra.Command {
	f := reportFlags{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "report --data DIR (--day DATE | --pull NUMBER) -o FILE.html|FILE.pdf",
		Short: "Write the report of a day or of one pull, as HTML or PDF",
		Long: `Writes what happened, what to do next, each pull with every item of its rig, how
sure the numbers are, the calibration, and what the multipliers say without and
with these pulls. The HTML is one file that needs no other and prints well.`,
		Example: "  tautlog report --data ~/tautlog --day 2026-05-17 --by 'A. Keeper' -o day.pdf",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := f.check(); err != nil {
				return err
			}
			db, err := store.OpenReader(f.dir)
			if err != nil {
				return err
			}
			defer db.Close()
			madeUp, err := isMadeUp(c.Context(), db, f.dir)
			if err != nil {
				return err
			}
			src, err := gather.Report(c.Context(), db, gather.FromStore(db, time.Local), gather.Ask{
				Day: f.day, Pull: f.pull, By: f.by, Version: version(), Unit: f.show, Made: time.Now(), Zone: time.Local, MadeUp: madeUp,
			})
			if errors.Is(err, gather.ErrNothing) {
				return fmt.Errorf("the store in %s: %w", f.dir, err)
			}
			if err != nil {
				return err
			}
			doc := report.Build(src)
			write := doc.WriteHTML
			if strings.EqualFold(filepath.Ext(f.out), ".pdf") {
				write = doc.WritePDF
			}
			return writeFile(f.out, write)
		},
	}
	c.Flags().StringVar(&f.dir, "data", "", "`directory` of the store")
	c.Flags().StringVar(&f.day, "day", "", "`date` of the day, as 2026-05-17")
	c.Flags().Int64Var(&f.pull, "pull", 0, "`number` of the pull in the log")
	c.Flags().StringVarP(&f.out, "output", "o", "", "`file` to write, ending in .html or .pdf")
	c.Flags().StringVar(&f.by, "by", "", "`name` of who makes the report")
	c.Flags().Var(unitFlag{&f.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
	return c
}

func (f *reportFlags) check() error {
	ext := strings.ToLower(filepath.Ext(f.out))
	switch {
	case f.dir == "":
		return usagef("report wants a store: add --data DIR")
	case (f.day == "") == (f.pull == 0):
		return usagef("report wants a day or a pull: add either --day 2026-05-17 or --pull 12")
	case ext != ".html" && ext != ".pdf":
		return usagef("report wants a file to write: add -o FILE.html or -o FILE.pdf")
	}
	if _, err := time.Parse(time.DateOnly, f.day); f.day != "" && err != nil {
		return usagef("%q is not a date: write it as 2026-05-17", f.day)
	}
	return nil
}
