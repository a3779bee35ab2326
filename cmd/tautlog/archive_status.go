package main

import (
	"io"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/archive"
	"tautlog/ingest/store"
)

// newArchiveStatus is the command that says how far archives are.
func newArchiveStatus() *cobra.Command {
	var data string
	var flags archiveFlags
	var asJSON bool
	c := &cobra.Command{
		Use:   "status",
		Short: "Say what is still to be pushed, and what went wrong",
		Long: `Says, of every archive that this store was pushed to and of the one that is told,
how many readings and pulls it has not yet, when it last took something, and what
last went wrong with what to do about it. It asks the store, not the server.`,
		Example: "  tautlog archive status --data ~/tautlog --json",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			settings, told, err := flags.settings(data, c.ErrOrStderr())
			if err != nil {
				return err
			}
			db, err := store.OpenReader(data)
			if err != nil {
				return err
			}
			defer db.Close()
			address := ""
			if told {
				address = settings.Address()
			}
			status, err := archive.StatusOf(c.Context(), db, address)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(c.OutOrStdout(), status)
			}
			return writeArchives(c.OutOrStdout(), status)
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "`directory` of the store")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	flags.add(c.Flags())
	return c
}

// waiting says how far an archive is.
func waiting(a archive.State) string {
	if a.Complete() {
		return "It has everything."
	}
	s := "Still to be pushed: " + a.Waits()
	if a.Behind != nil {
		s += ", the earliest of " + a.Behind.Format(time.RFC3339)
	}
	return s + "."
}

func writeArchives(w io.Writer, s archive.Status) error {
	p := printer{w: w}
	if len(s.Archives) == 0 {
		p.line("No archive is told, and this store was never pushed to one; see: tautlog archive --help")
		return p.err
	}
	if s.Station != "" {
		p.line("This store is station %s.", s.Station)
	}
	for _, a := range s.Archives {
		p.line("\n%s", a.Archive)
		p.line("  %s", waiting(a))
		if a.Refused > 0 {
			p.line("  Of these it has refused %s.", counted(a.Refused, "reading"))
		}
		if a.LastSuccess != nil {
			p.line("  It last took something at %s.", a.LastSuccess.Format(time.RFC3339))
		} else {
			p.line("  It has never taken anything.")
		}
		if a.LastFailure != nil && (a.Failing || a.Refused > 0) {
			p.line("  At %s: %s", a.LastFailure.Format(time.RFC3339), a.LastError)
		}
	}
	return p.err
}
