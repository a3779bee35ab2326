package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/store"
)

// stateRecord is how far an archive is.
type stateRecord struct {
	Archive     string     `json:"archive"`
	Told        bool       `json:"told"`             // by the settings in force
	Readings    int        `json:"readings_to_push"` // refused ones too
	Refused     int        `json:"refused_readings"`
	Pulls       int        `json:"pulls_to_push"`
	Behind      *time.Time `json:"behind_since"` // time of the earliest reading to push
	LastSuccess *time.Time `json:"last_success"`
	LastFailure *time.Time `json:"last_error_at"`
	LastError   string     `json:"last_error"`
	Failing     bool       `json:"failing"` // nothing was pushed since the last error
}

type statusRecord struct {
	Station  string        `json:"station"` // what this store is called; empty before the first push
	Archives []stateRecord `json:"archives"`
}

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
			status, err := archiveStatus(c, db, address)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(c.OutOrStdout(), status)
			}
			return status.write(c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "`directory` of the store")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	flags.add(c.Flags())
	return c
}

func archiveStatus(c *cobra.Command, db *store.Store, told string) (s statusRecord, err error) {
	s.Archives = []stateRecord{}
	if s.Station, err = db.Station(c.Context(), ""); err != nil {
		return s, err
	}
	all, err := db.ArchiveStates(c.Context())
	if err != nil {
		return s, err
	}
	known := told == ""
	for _, a := range all {
		r := stateOf(a)
		r.Told = a.Archive == told
		known = known || r.Told
		s.Archives = append(s.Archives, r)
	}
	if known {
		return s, nil
	}
	never, err := db.ArchiveState(c.Context(), told)
	r := stateOf(never)
	r.Told = true
	s.Archives = append([]stateRecord{r}, s.Archives...)
	return s, err
}

func stateOf(a store.ArchiveState) stateRecord {
	at := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		return &t
	}
	return stateRecord{Archive: a.Archive, Readings: a.Readings, Refused: a.Refused, Pulls: a.Pulls, Behind: at(a.Behind),
		LastSuccess: at(a.Pushed), LastFailure: at(a.Failed), LastError: a.Failure, Failing: a.Failing()}
}

// sentence says how far it is.
func (r stateRecord) sentence() string {
	if r.Readings == 0 && r.Pulls == 0 {
		return "It has everything."
	}
	s := fmt.Sprintf("Still to be pushed: %s and %s", counted(r.Readings, "reading"), counted(r.Pulls, "pull"))
	if r.Behind != nil {
		s += ", the earliest of " + r.Behind.Format(time.RFC3339)
	}
	return s + "."
}

func (s statusRecord) write(w io.Writer) error {
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
		p.line("  %s", a.sentence())
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
