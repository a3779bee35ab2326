package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/calc/unit"
	"tautlog/dashboards/web"
	"tautlog/ingest/registerfile"
	"tautlog/ingest/store"
)

const registerImportHelp = `With --gear, --vehicles or --rigs puts a register into the store: a JSON file as
--schema describes it, or a CSV table with a column for each key. All of it goes
in or nothing. Each entry is written over that of the same ID (or name, where it
has none); what the file does not name stays. A daemon may go on recording
meanwhile. With --dry-run nothing is written; it says what would change, from
what to what. The pictures that inspections refer to come first, with --pictures.`

// registerImport is what was asked of "tautlog import" of a register.
type registerImport struct {
	gear, vehicles, rigs string
	pictures             string // a directory
	dryRun, json, schema bool
}

func (r *registerImport) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&r.gear, "gear", "", "register of gear, a JSON `file` or a CSV table; - is standard input")
	f.StringVar(&r.vehicles, "vehicles", "", "register of vehicles, a JSON `file` or a CSV table")
	f.StringVar(&r.rigs, "rigs", "", "register of rigs, a JSON `file` or a CSV table")
	f.StringVar(&r.pictures, "pictures", "", "`directory` of pictures of inspections, as tautlog export --pictures writes it")
	f.BoolVar(&r.dryRun, "dry-run", false, "of a register: only say what would change")
	f.BoolVar(&r.json, "json", false, "of a register: say what changed as one JSON document")
	f.BoolVar(&r.schema, "schema", false, "print the JSON Schema of a register")
}

func (r *registerImport) asked() bool {
	return r.named() || r.pictures != "" || r.dryRun || r.json || r.schema
}

// named tells whether a register was named.
func (r *registerImport) named() bool { return r.gear != "" || r.vehicles != "" || r.rigs != "" }

func (r *registerImport) run(c *cobra.Command, dir string) (err error) {
	switch {
	case r.schema:
		_, err := io.WriteString(c.OutOrStdout(), registerfile.Schema)
		return err
	case !r.named() && (r.dryRun || r.json):
		return usagef("--dry-run and --json are for a register: add --gear, --vehicles or --rigs FILE")
	case r.dryRun && r.pictures != "":
		return usagef("pictures are not tried: bring them in first, which changes nothing of the register")
	case dir == "":
		return usagef("%s wants a store: add --data DIR", c.CommandPath())
	}
	reg, err := r.read(c.InOrStdin())
	if err != nil {
		return err
	}
	open := openEditor
	if r.dryRun {
		open = func(_ *cobra.Command, dir string) (*store.Store, error) {
			return store.OpenEditor(dir, store.Options{})
		}
	}
	db, err := open(c, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if r.pictures != "" {
		n, err := importPictures(c.Context(), db, r.pictures)
		if err != nil {
			return err
		}
		fmt.Fprintf(c.ErrOrStderr(), "%s kept\n", counted(n, "picture"))
		if !r.named() {
			return nil
		}
	}
	done, err := db.SaveRegister(c.Context(), reg, r.dryRun)
	if err != nil {
		return fmt.Errorf("nothing was imported: %w", err)
	}
	return r.tell(c.OutOrStdout(), done)
}

// read reads the files that were named. A JSON file brings whatever lists it
// has, by whichever flag it was named.
func (r *registerImport) read(stdin io.Reader) (all store.Register, err error) {
	for _, f := range []struct {
		name string
		part registerfile.Part
	}{{r.vehicles, registerfile.Vehicles}, {r.gear, registerfile.Gear}, {r.rigs, registerfile.Rigs}} {
		if f.name == "" {
			continue
		}
		reg, err := readRegister(f.name, stdin, f.part)
		if err != nil {
			return all, err
		}
		all.Vehicles, all.Items, all.Rigs = append(all.Vehicles, reg.Vehicles...), append(all.Items, reg.Items...), append(all.Rigs, reg.Rigs...)
	}
	return all, nil
}

// readRegister reads one file.
func readRegister(name string, stdin io.Reader, part registerfile.Part) (registerfile.Register, error) {
	if err := wantFile(name); err != nil {
		return registerfile.Register{}, err
	}
	in := stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return registerfile.Register{}, fmt.Errorf("cannot read the register: %w", err)
		}
		defer f.Close()
		in = f
	}
	reg, err := registerfile.Read(in, part)
	if err != nil {
		return reg, fmt.Errorf("%s: %w", name, err)
	}
	return reg, nil
}

// importedRecord is what an import of a register did, as JSON.
type importedRecord struct {
	DryRun   bool            `json:"dry_run"`
	Outcomes []store.Outcome `json:"outcomes"`
}

func (r *registerImport) tell(w io.Writer, done []store.Outcome) error {
	if r.json {
		return writeJSON(w, importedRecord{r.dryRun, done})
	}
	out := bufio.NewWriter(w)
	count := map[store.Did]int{}
	for _, o := range done {
		count[o.Did]++
		switch o.Did {
		case store.DidAdd:
			fmt.Fprintf(out, "new %s %s\n", o.What, o.Key)
		case store.DidChange:
			fmt.Fprintf(out, "changed %s %s: %s\n", o.What, o.Key, strings.Join(web.Differences(o.What, o.Before, o.After, unit.DefaultShown), "; "))
		}
	}
	head := "written"
	if r.dryRun {
		head = "nothing is written; it would be"
	}
	fmt.Fprintf(out, "%s: %d new, %d changed, %d the same\n", head, count[store.DidAdd], count[store.DidChange], count[store.DidKeep])
	return out.Flush()
}
