package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/store"
)

// newBackup is the command that keeps everything in one file.
func newBackup() *cobra.Command {
	var data string
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Keep everything in one file",
		Long: `Writes everything of a store into one new file: readings, pulls, gear, rigs, pictures, multipliers, and who changed what.
It may run while serve or record goes on. The file is read back and checked before it gets its name; a file that is there
already stays as it is. Whoever has the file can read all that is in it: keep it as you keep the laptop.`,
		Example: "  tautlog backup club-2026-05-17.tautlog\n  tautlog backup --data ~/testday /media/stick/club.tautlog",
		Args:    oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			db, err := store.OpenReader(data)
			if err != nil {
				return err
			}
			if err := errors.Join(db.Backup(c.Context(), args[0]), db.Close()); err != nil {
				return err
			}
			info, err := os.Stat(args[0])
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: %.1f MB, everything in %s as it is now, read back and checked.\n", args[0], float64(info.Size())/1e6, data)
			return nil
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "directory of the store")
	return c
}

// newRestore is the command that makes a store out of a backup.
func newRestore() *cobra.Command {
	var data string
	var aside bool
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "Make a store out of a backup",
		Long: `Makes the store in a directory out of a file that "tautlog backup" wrote. The file is checked whole before anything changes.
Where a store is there already nothing is done, unless --keep-aside: then that one gets another name beside the restored one,
and can be restored in its turn. Stop serve or record first.`,
		Example: "  tautlog restore club-2026-05-17.tautlog --data ~/tautlog",
		Args:    oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			done, err := store.Restore(c.Context(), args[0], data, aside, time.Now())
			if errors.Is(err, store.ErrConflict) {
				return fmt.Errorf("%w: add --keep-aside", err)
			}
			if err != nil {
				return err
			}
			out := c.OutOrStdout()
			fmt.Fprintf(out, "%s holds what %s held.\n", data, args[0])
			if done.Aside != "" {
				fmt.Fprintf(out, "What was there before is kept as %s.\n", done.Aside)
			}
			fmt.Fprintf(out, "Show it with: tautlog serve --data %s\n", data)
			return nil
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "directory of the store; made when missing")
	c.Flags().BoolVar(&aside, "keep-aside", false, "where a store is there already, keep it under another name")
	return c
}

// oneFile refuses anything but one word.
func oneFile(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants one FILE; see: %s --help", c.CommandPath(), c.CommandPath())
	}
	return nil
}
