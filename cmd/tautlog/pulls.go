package main

import (
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
)

// newPulls is the command that finds and measures the pulls of a trace.
func newPulls() *cobra.Command {
	var (
		flags  traceFlags
		asJSON bool
	)
	c := &cobra.Command{
		Use:   "pulls TRACE.csv",
		Short: "Find and measure the pulls of a trace",
		Long: `Finds the pulls in a trace of force over time and measures each: peak with the
interval of the true peak, rise, impulse, kind.

TRACE.csv is a CSV file with a header, a time column and a force column, plain
or packed with gzip or zstd; "-" is standard input.`,
		Args: oneTrace,
		RunE: func(c *cobra.Command, args []string) error {
			found, err := flags.analyse(c.Context(), args[0], c.InOrStdin())
			if err != nil {
				return err
			}
			if asJSON {
				return writePullsJSON(c.OutOrStdout(), found)
			}
			return writePulls(c.OutOrStdout(), found)
		},
	}
	flags.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// oneTrace wants exactly one trace.
func oneTrace(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s wants one trace, not %d; see: %s --help", c.CommandPath(), len(args), c.CommandPath())
	}
	return nil
}

type traceRecord struct {
	Samples  int64   `json:"samples"`
	Duration float64 `json:"duration_s"`
	Rate     float64 `json:"rate_hz"`
	Gaps     int64   `json:"gaps"`
}

type pullsRecord struct {
	Trace traceRecord   `json:"trace"`
	Pulls []pull.Record `json:"pulls"`
}

func record(found *analysed) pullsRecord {
	r := pullsRecord{
		Trace: traceRecord{Samples: found.Samples, Duration: found.Duration(), Rate: found.Rate(), Gaps: found.Gaps()},
		Pulls: make([]pull.Record, 0, len(found.Pulls)),
	}
	for _, p := range found.Pulls {
		r.Pulls = append(r.Pulls, p.Record(found.First))
	}
	return r
}

func writePullsJSON(w io.Writer, found *analysed) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(record(found))
}

func writePulls(w io.Writer, found *analysed) error {
	_, err := fmt.Fprintf(w, "%d samples over %.3f s, %d pulls\n", found.Samples, found.Duration(), len(found.Pulls))
	return err
}
