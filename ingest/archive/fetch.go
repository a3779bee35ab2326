package archive

import (
	"context"
	"errors"
	"slices"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// Fetched is what was taken from an archive into a store.
type Fetched struct {
	Readings int `json:"readings"` // that the store had not
	Had      int `json:"had"`      // that it had already, the same
	Pulls    int `json:"pulls"`    // that it had not
}

// ErrOwn says that the store has another cell of that name.
var ErrOwn = words.Kind("archive.error.own")

// ErrDiffers says that the store has another reading at the same time.
var ErrDiffers = words.Kind("archive.error.differs")

// Fetch takes the readings of a cell from time from up to, not including, to,
// and the pulls that began then, into a store, where the cell is called name.
// What the store has already is left as it is, so that a fetch that was ended
// can be repeated. The store pushes the cell under the station that it came
// from, to the points that are there.
func (s *Server) Fetch(ctx context.Context, c Cell, db *store.Store, name string, from, to int64) (f Fetched, err error) {
	cell, err := s.ownCell(ctx, c, db, name)
	if err != nil {
		return f, err
	}
	into := intake{db: db, cell: cell.ID, fetched: &f}
	err = s.Readings(ctx, c, from, to, func(b trace.Batch, raw []int64) error { return into.take(ctx, b, raw) })
	if err != nil {
		return f, err
	}
	if _, err := db.Fold(ctx, cell.ID); err != nil {
		return f, err
	}
	pulls, err := s.Pulls(ctx, c, from, to)
	if err != nil {
		return f, err
	}
	// What is set aside makes room for a pull that it became a part of; what a
	// person made lies between what was found.
	slices.SortStableFunc(pulls, func(a, b Pull) int { return a.order() - b.order() })
	for _, p := range pulls {
		if err := into.takePull(ctx, p); err != nil {
			return f, err
		}
	}
	return f, nil
}

// ownCell is the cell in the store: the one that is of this cell of the
// archive, or a new one.
func (s *Server) ownCell(ctx context.Context, c Cell, db *store.Store, name string) (store.Cell, error) {
	cell, err := db.CellByName(ctx, name)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return s.makeCell(ctx, c, db, name)
	case err != nil:
		return cell, err
	}
	known, err := db.ArchivedCells(ctx, s.Address())
	if err != nil {
		return cell, err
	}
	same := slices.ContainsFunc(known, func(k store.ArchivedCell) bool {
		return k.Cell == cell.ID && k.Station == c.Station && k.Name == c.Name
	})
	if !same {
		return cell, words.Error("archive.error.cell", c.Name, c.Station, ErrOwn)
	}
	return cell, nil
}

func (s *Server) makeCell(ctx context.Context, c Cell, db *store.Store, name string) (store.Cell, error) {
	cell, err := c.described.save(ctx, db, name)
	if err != nil {
		return cell, err
	}
	_, err = db.ArchiveCell(ctx, store.ArchivedCell{Archive: s.Address(), Cell: cell.ID, Station: c.Station, Name: c.Name, Scale: scaleOf(c.Known).String()})
	return cell, err
}

// intake takes readings and pulls into a cell of a store.
type intake struct {
	db      *store.Store
	cell    int64
	fetched *Fetched
}

// take takes a batch. Readings between which the store has others go in apart.
func (n *intake) take(ctx context.Context, b trace.Batch, raw []int64) error {
	had, err := n.had(ctx, b.T[0], b.T[len(b.T)-1])
	if err != nil {
		return err
	}
	begin := 0
	for i, at := range b.T {
		if len(had) == 0 || had[0].at > at {
			continue
		}
		if err := n.append(ctx, b, raw, begin, i); err != nil {
			return err
		}
		for ; len(had) > 0 && had[0].at < at; had = had[1:] {
		}
		begin = i
		if len(had) > 0 && had[0].at == at {
			if had[0].raw != raw[i] {
				return words.Error("archive.error.reading", moment(at), had[0].raw, raw[i], ErrDiffers)
			}
			n.fetched.Had++
			had, begin = had[1:], i+1
		}
	}
	return n.append(ctx, b, raw, begin, len(b.T))
}

// instant is a reading that the store has.
type instant struct{ at, raw int64 }

func (n *intake) had(ctx context.Context, first, last int64) (all []instant, err error) {
	for run, err := range n.db.Runs(ctx, n.cell, first, last+1) {
		if err != nil {
			return nil, err
		}
		for i, raw := range run.Raw {
			all = append(all, instant{run.At(i), raw})
		}
	}
	return all, nil
}

// append puts readings i up to j into the store, on grids that give every one
// of their times.
func (n *intake) append(ctx context.Context, b trace.Batch, raw []int64, i, j int) error {
	if i == j {
		return nil
	}
	var gridder tracefile.Gridder
	var runs []store.Run
	next := i
	add := func(g tracefile.Grid, ok bool) {
		if !ok {
			return
		}
		run := store.Run{Cell: n.cell, Start: g.Start, Step: g.Step, Raw: slices.Clone(raw[next : next+g.N])}
		if b.Marks != nil {
			run.Marks = slices.Clone(b.Marks[next : next+g.N])
		}
		runs, next = append(runs, run), next+g.N
	}
	for _, at := range b.T[i:j] {
		add(gridder.Add(at))
	}
	add(gridder.Close())
	n.fetched.Readings += j - i
	return n.db.Append(ctx, runs)
}

func (p Pull) made() bool { return p.Limits != nil && p.Limits.Made }

func (p Pull) order() int {
	switch {
	case p.Aside != nil:
		return 0
	case p.made():
		return 2
	}
	return 1
}

// takePull takes a pull that the store has not: first as it was found, then
// what people said of it, so that no later analysis overwrites that. The numbers
// of other pulls that it names are those of the store that it is from, and left out.
func (n *intake) takePull(ctx context.Context, p Pull) error {
	if p.made() && p.Aside != nil {
		return nil
	}
	near, err := n.db.Pulls(ctx, store.PullFilter{Cell: n.cell, From: max(p.Found.Start, 1), To: p.Found.Start + 1})
	if err != nil || len(near) > 0 {
		return err
	}
	day, err := n.day(ctx, p.TestDay)
	if err != nil {
		return err
	}
	told := p.Pull
	if p.made() {
		told.Cell, told.Day, told.By = n.cell, day, store.Derived{}
		n.fetched.Pulls++
		_, err = n.db.MakePull(ctx, told)
		return err
	}
	found, _ := p.ByFinder()
	saved, err := n.db.SavePull(ctx, store.Pull{Cell: n.cell, Found: found, Settled: true})
	if err != nil || saved.Aside != nil {
		return err
	}
	if p.Aside != nil {
		told.Aside = &store.Aside{Who: p.Aside.Who, At: p.Aside.At}
		told.Limits, told.Found = nil, found // those of a pull that counts
	}
	told.ID, told.Version, told.Cell, told.Day, told.By = saved.ID, saved.Version, n.cell, day, saved.By
	n.fetched.Pulls++
	_, err = n.db.SavePull(ctx, told)
	return err
}

// day is the test day of that date and name, made where there is none.
func (n *intake) day(ctx context.Context, key string) (int64, error) {
	if len(key) < len("2006-01-02 ") {
		return 0, nil
	}
	day := store.Day{Date: key[:10], Name: key[11:]}
	all, err := n.db.Days(ctx)
	if err != nil {
		return 0, err
	}
	for _, d := range all {
		if d.Date == day.Date && d.Name == day.Name {
			return d.ID, nil
		}
	}
	day, err = n.db.SaveDay(ctx, day)
	return day.ID, err
}
