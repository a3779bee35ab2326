package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"tautlog/ingest/listen"
	"tautlog/ingest/store"
)

// savedCell is what a person adds to what was heard, so that the recorder can
// use the cell.
type savedCell struct {
	listen.Setting
	data     string
	proposal int
}

func (s *savedCell) add(f *pflag.FlagSet) {
	f.StringVar(&s.Name, "save", "", "set the cell up under this `name`")
	f.IntVar(&s.proposal, "proposal", 1, "`number` of the proposal by which it is read")
	f.StringVar(&s.data, "data", defaultData(), "directory of the store; made when missing")
	f.Var(forceFlag{&s.Capacity}, "capacity", "rated capacity of the cell, such as 100kN; unknown when not given")
	f.StringVar(&s.Curve, "curve", "", "newtons from counts, `b0,b1[,b2[,b3]]` of the calibration; needed where the cell sends counts")
	f.Float64Var(&s.RelativePercent, "uncertainty-percent", 0, "half `width` of the 95 % interval of the force on the certificate, in percent; unknown when 0")
}

// save writes the cell to the store, by the way of reading it that was
// chosen.
func (s *savedCell) save(ctx context.Context, h *listen.Hearing, w io.Writer) (err error) {
	proposals := h.Proposals()
	switch {
	case len(proposals) == 0:
		return fmt.Errorf("cell %s was not set up: nothing on %s could be read as text or packed frames; try another --baud, or say with --as how to read it", s.Name, h.Line.Path)
	case s.proposal < 1 || s.proposal > len(proposals):
		return fmt.Errorf("cell %s was not set up: there is no proposal %d, the last is %d; choose another --proposal", s.Name, s.proposal, len(proposals))
	}
	st, err := store.Open(s.data, store.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	if s.Known, err = st.CellByName(ctx, s.Name); err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	p := proposals[s.proposal-1]
	c, err := s.Cell(h.Line, p)
	if err != nil {
		return fmt.Errorf("%w; add --curve", err)
	}
	saved, err := st.SaveCell(ctx, c)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "\ncell %s is set up in %s: %s, about %g readings a second\nrecord it: tautlog serve --data %s --cell %s=%s\n",
		saved.Name, s.data, p.InWords, saved.Rate, s.data, saved.Name, h.Line.Path)
	return err
}
