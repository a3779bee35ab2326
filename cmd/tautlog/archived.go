package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/ingest/archive"
)

// archivedFlags choose readings from an archive.
type archivedFlags struct {
	archive archiveFlags
	station string
}

func (a *archivedFlags) add(f *pflag.FlagSet) {
	a.archive.add(f)
	f.StringVar(&a.station, "station", "", "`name` of the laptop or store that the cell is of; may be left out where only one has a cell of that name")
}

func (a *archivedFlags) used() bool { return a.archive.at != "" }

// chosen is the cell that was named, or the only one there is.
func (a *archivedFlags) chosen(ctx context.Context, server *archive.Server, name string) (archive.Cell, error) {
	all, err := server.Cells(ctx)
	if err != nil {
		return archive.Cell{}, err
	}
	var names []string
	for _, c := range all {
		names = append(names, fmt.Sprintf("%s of station %s", c.Name, c.Station))
	}
	fit := slices.DeleteFunc(all, func(c archive.Cell) bool {
		return name != "" && c.Name != name && c.Known.Name != name || a.station != "" && c.Station != a.station
	})
	switch {
	case len(names) == 0:
		return archive.Cell{}, fmt.Errorf("%s has no cells; push some with: tautlog archive push", server.Address())
	case len(fit) == 0:
		return archive.Cell{}, fmt.Errorf("%s has no such cell; it has %s", server.Address(), strings.Join(names, ", "))
	case len(fit) > 1:
		return archive.Cell{}, usagef("%s has several such cells: choose one with --cell and --station, of %s", server.Address(), strings.Join(names, ", "))
	}
	return fit[0], nil
}

func (a *archivedFlags) nothing(server *archive.Server, cell archive.Cell) error {
	return fmt.Errorf("%s has no readings of cell %s of station %s in that time; change --from and --to", server.Address(), cell.Name, cell.Station)
}

// open opens what an archive has of a cell as a source.
func (a *archivedFlags) open(ctx context.Context, s *storedFlags, t traceFlags, remarks io.Writer) (*source, error) {
	server, err := a.archive.connect("", remarks)
	if err != nil {
		return nil, err
	}
	cell, err := a.chosen(ctx, server, s.cell)
	if err != nil {
		server.Close()
		return nil, err
	}
	from, to := s.window()
	each := survey.Ahead(func(yield func(survey.Fill) error) error {
		return server.Readings(ctx, cell, from, to, func(b trace.Batch, _ []int64) error { return yield(survey.Copied(b)) })
	})
	return &source{survey.Source{
		Config:  finderConfig(cell.Known, t),
		Largest: each.Largest,
		Each:    each,
		Nothing: func() error { return a.nothing(server, cell) },
	}, func() error { server.Close(); return nil }}, nil
}
