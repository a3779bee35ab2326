package main

import (
	"bufio"
	"fmt"
	"runtime"
	"slices"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"
)

// runFiles analyses several files side by side and tells of them in the order
// in which they were named. A file that cannot be read ends it: nothing is
// printed then.
func (p *pullsCommand) runFiles(c *cobra.Command, files []string) error {
	if slices.Contains(files, "-") {
		return usagef("standard input is read alone, not with other files")
	}
	all := make([]*told, len(files))
	defer func() {
		for _, t := range all {
			if t != nil {
				t.close()
			}
		}
	}()
	group, ctx := errgroup.WithContext(c.Context())
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, file := range files {
		group.Go(func() error {
			s, err := p.trace.open(ctx, file, nil)
			if err != nil {
				return err
			}
			defer s.close()
			if all[i], err = p.tell(s); err == nil {
				all[i].file = file
			}
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	return p.printFiles(c, all)
}

func (p *pullsCommand) printFiles(c *cobra.Command, all []*told) error {
	out := bufio.NewWriterSize(c.OutOrStdout(), 64<<10)
	if p.json {
		if err := writeTraces(out, all); err != nil {
			return err
		}
		return out.Flush()
	}
	for i, t := range all {
		if i > 0 {
			fmt.Fprintln(out)
		}
		fmt.Fprintf(out, "== %s\n", t.file)
		if err := writePulls(out, t, p.show); err != nil {
			return err
		}
	}
	return out.Flush()
}
