package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"
)

// which says which of several traces one is.
type which struct {
	File string `json:"file,omitempty"`
	Cell string `json:"cell,omitempty"`
	Day  string `json:"day,omitempty"`
}

// title is the same for people.
func (w which) title() string {
	switch {
	case w.File != "":
		return w.File
	case w.Day == "":
		return "cell " + w.Cell
	}
	return "cell " + w.Cell + ", " + w.Day
}

// opened opens a trace, one of several. It may remark upon what it leaves out.
type opened func(ctx context.Context, i int, remarks io.Writer) (*source, which, error)

// runFiles analyses several files side by side and tells of them in the order
// in which they were named.
func (p *pullsCommand) runFiles(c *cobra.Command, files []string) error {
	if slices.Contains(files, "-") {
		return usagef("standard input is read alone, not with other files")
	}
	return p.runSeveral(c, len(files), func(ctx context.Context, i int, _ io.Writer) (*source, which, error) {
		s, err := p.trace.open(ctx, files[i], nil)
		return s, which{File: files[i]}, err
	})
}

// runSeveral analyses n traces side by side and tells of them in order. One that
// cannot be read ends it: nothing is printed then.
func (p *pullsCommand) runSeveral(c *cobra.Command, n int, open opened) (err error) {
	type one struct {
		*told
		remarks bytes.Buffer
	}
	work := func(ctx context.Context, i int) (*one, error) {
		o := &one{}
		s, name, err := open(ctx, i, &o.remarks)
		if err != nil {
			return nil, err
		}
		defer s.close()
		if o.told, err = p.tell(s); err != nil {
			return nil, err
		}
		o.which = name
		return o, nil
	}
	kept := &spool{}
	defer func() { err = errors.Join(err, kept.close()) }()
	out := bufio.NewWriterSize(kept, 64<<10)
	telling := &teller{p: p, out: out}
	use := func(o *one) error {
		_, err := o.remarks.WriteTo(c.ErrOrStderr())
		return errors.Join(err, telling.one(o.told), o.close())
	}
	if err := inOrder(c.Context(), n, work, use, func(o *one) { _ = o.close() }); err != nil {
		return err
	}
	telling.end()
	if err := out.Flush(); err != nil {
		return err
	}
	return kept.print(c.OutOrStdout())
}

// teller writes of several traces, one after the other.
type teller struct {
	p   *pullsCommand
	out *bufio.Writer
	n   int
}

func (t *teller) one(found *told) error {
	t.n++
	if t.p.json {
		before := ",\n"
		if t.n == 1 {
			before = "{\"traces\": [\n"
		}
		t.out.WriteString(before)
		return found.writeJSON(t.out)
	}
	if t.n > 1 {
		fmt.Fprintln(t.out)
	}
	fmt.Fprintf(t.out, "== %s\n", found.title())
	return writePulls(t.out, found, t.p.show)
}

func (t *teller) end() {
	if t.p.json {
		t.out.WriteString("\n]}\n")
	}
}
