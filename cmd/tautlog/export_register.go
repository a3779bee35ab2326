package main

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/logfile"
	"tautlog/ingest/registerfile"
	"tautlog/ingest/store"
)

const registerExportHelp = `With --gear, --vehicles or --rigs writes that part of the register, with --pulls
the log of pulls, the latest first; as JSON where FILE ends in .json or with
--json, the log as Parquet where it ends in .parquet, otherwise as CSV. tautlog
import reads a register back the same. Several parts of the register go together
into one JSON file. With --pictures DIR writes the pictures of inspections, one
file each.

The table of pulls has the columns that tautlog multipliers fit reads, and more.
A name ends in its unit: _N newtons, _kg kilograms, _m metres, _s seconds, _mps
metres a second. peak_low_N to peak_high_N holds the true peak in 95 of 100 such
pulls. reference_kg is the mass of the stuck vehicle, and shock_factor the peak
over its weight; shock_factor_of_mass is true where its interval also holds how
well that mass is known. limits_set_by is who set start and end by hand, and
found_start and found_end are what they were before. --from, --to and --cell
choose pulls.`

// registerExport is what was asked of "tautlog export" of documents and pulls.
type registerExport struct {
	gear, vehicles, rigs, pulls bool
	json                        bool
	pictures                    string // a directory
}

func (r *registerExport) add(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&r.gear, "gear", false, "write the register of gear")
	f.BoolVar(&r.vehicles, "vehicles", false, "write the register of vehicles")
	f.BoolVar(&r.rigs, "rigs", false, "write the register of rigs")
	f.BoolVar(&r.pulls, "pulls", false, "write the log of pulls")
	f.StringVar(&r.pictures, "pictures", "", "write the pictures of inspections to this `directory`")
	f.BoolVar(&r.json, "json", false, "of a register or the log: write JSON whatever the file is called")
}

// parts is how many parts of the register were asked for.
func (r *registerExport) parts() (n int) {
	for _, on := range []bool{r.gear, r.vehicles, r.rigs} {
		if on {
			n++
		}
	}
	return n
}

func (r *registerExport) asked() bool { return r.parts() > 0 || r.pulls || r.json || r.pictures != "" }

func (r *registerExport) run(c *cobra.Command, db *store.Store, stored *storedFlags, output string) error {
	asJSON := r.json || strings.HasSuffix(strings.ToLower(output), ".json")
	switch {
	case r.pictures != "" && (r.parts() > 0 || r.pulls || r.json):
		return usagef("--pictures stands alone: leave out the other parts")
	case r.pictures != "":
		return exportPictures(c.Context(), db, r.pictures)
	case r.parts() == 0 && !r.pulls:
		return usagef("--json is for the register and the log: add --gear, --vehicles, --rigs or --pulls")
	case r.parts() > 0 && r.pulls:
		return usagef("the register and the log of pulls go into files of their own: leave out --pulls")
	case r.parts() > 1 && !asJSON:
		return usagef("a table is of gear, vehicles or rigs: choose one, or write JSON with --json")
	case r.parts() > 0 && stored.used():
		return usagef("--cell, --from and --to choose readings or pulls: leave them out")
	}
	write := func(w io.Writer) error { return r.write(c.Context(), db, w, asJSON) }
	if r.pulls {
		f, err := stored.pullFilter(c.Context(), db)
		if err != nil {
			return err
		}
		form := r.form(output)
		write = func(w io.Writer) error {
			return logfile.Write(w, form, func(use func(logfile.Row) error) error {
				return logfile.Rows(c.Context(), db, f, time.Local, use)
			})
		}
	}
	if output == "-" {
		return write(c.OutOrStdout())
	}
	return writeFile(output, write)
}

// form is the kind of file that the log goes into.
func (r *registerExport) form(output string) logfile.Form {
	switch ext := strings.ToLower(filepath.Ext(output)); {
	case r.json || ext == ".json":
		return logfile.JSON
	case ext == ".parquet":
		return logfile.Parquet
	}
	return logfile.CSV
}

// write writes the parts.
func (r *registerExport) write(ctx context.Context, db *store.Store, w io.Writer, asJSON bool) error {
	all, err := db.Register(ctx)
	if err != nil {
		return err
	}
	reg := registerfile.Register(all)
	part := registerfile.Rigs
	switch {
	case asJSON:
		return registerfile.Encode(w, r.chosen(reg))
	case r.vehicles:
		part = registerfile.Vehicles
	case r.gear:
		part = registerfile.Gear
	}
	return reg.WritePart(w, part)
}

// chosen leaves out what was not asked for.
func (r *registerExport) chosen(reg registerfile.Register) registerfile.Register {
	if !r.vehicles {
		reg.Vehicles = nil
	}
	if !r.gear {
		reg.Items = nil
	}
	if !r.rigs {
		reg.Rigs = nil
	}
	return reg
}
