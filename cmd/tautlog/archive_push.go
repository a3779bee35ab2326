package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/ingest/archive"
)

// pushRecord is what a push did, and what is left.
type pushRecord struct {
	Archive string `json:"archive"`
	archive.Sum
	Left archive.State `json:"left"`
}

// newArchivePush is the command that pushes now.
func newArchivePush() *cobra.Command {
	var data string
	var flags archiveFlags
	var asJSON bool
	c := &cobra.Command{
		Use:   "push",
		Short: "Push what the archive has not yet",
		Long: `Pushes every reading and settled pull that the archive has not, or not as it is
now, in order of time, and ends. "serve" and "record" do the same by themselves while
they run, where the archive is told to them. It may be run beside them, ended at any
moment and repeated: nothing is lost, and nothing is there twice.

What the archive refused before is tried once more.`,
		Example: "  tautlog archive push --data ~/tautlog",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) (err error) {
			server, err := flags.connect(data, c.ErrOrStderr())
			if err != nil {
				return err
			}
			defer server.Close()
			db, err := openEditor(c, data)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, db.Close()) }()
			pusher := archive.NewPusher(archive.Config{Store: db, Server: server, Waits: func() {
				fmt.Fprintln(c.ErrOrStderr(), "another tautlog is pushing this store; waiting for it")
			}})
			done := pushRecord{Archive: server.Address()}
			var failed error
			done.Sum, failed = pusher.Push(c.Context(), true)
			left, err := db.ArchiveState(c.Context(), server.Address())
			if err != nil {
				return errors.Join(failed, err)
			}
			done.Left = archive.StateOf(left)
			return errors.Join(done.tell(c.OutOrStdout(), asJSON), failed, done.problem())
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "`directory` of the store")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	flags.add(c.Flags())
	flags.addStation(c.Flags())
	return c
}

func (p *pushRecord) tell(w io.Writer, asJSON bool) error {
	if asJSON {
		return writeJSON(w, p)
	}
	_, err := fmt.Fprintf(w, "%s and %s pushed to %s.\n%s\n", counted(p.Readings, "reading"), counted(p.Pulls, "pull"), p.Archive, waiting(p.Left))
	return err
}

// problem is what keeps the archive from having everything, though it could be
// pushed to.
func (p *pushRecord) problem() error {
	var all []error
	if p.Refused > 0 || p.Left.Refused > 0 {
		all = append(all, fmt.Errorf("%s refused: %s", counted(p.Left.Refused, "reading"), p.Left.LastError))
	}
	if p.Damaged > 0 {
		all = append(all, fmt.Errorf("%s could not be read from the store and were left out", counted(p.Damaged, "reading")))
	}
	return errors.Join(all...)
}
