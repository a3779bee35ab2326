package archive

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"slices"
	"sync/atomic"

	"tautlog/analysis/trace"
	"tautlog/ingest/store"
)

// Config says what to push where.
type Config struct {
	Store  *store.Store
	Server *Server
	// Log receives what an operator may want to read later; nil for nothing.
	Log *slog.Logger
	// Waits is called when another program pushes the same store and must end
	// first; nil for nothing.
	Waits func()
}

// Sum is what a push did.
type Sum struct {
	Readings int `json:"readings"`         // that the archive took
	Refused  int `json:"refused_readings"` // that it refused
	Damaged  int `json:"damaged_readings"` // that could not be read from the store
	Pulls    int `json:"pulls"`            // that the archive took
}

// Pusher pushes a store to an archive.
type Pusher struct {
	cfg       Config
	busy      atomic.Bool // a push goes on
	log       *slog.Logger
	described map[int64]string // what the archive knows of each cell
	lines     int              // how many at once
	buf       []byte
	batch     trace.Batch
}

// How many readings are taken from the store and put into one write.
const (
	readAtOnce  = 20_000
	mostAtOnce  = 5_000
	leastAtOnce = 50
)

// NewPusher makes a Pusher. It panics where the Config has no Store or no
// Server.
func NewPusher(c Config) *Pusher {
	if c.Store == nil || c.Server == nil {
		panic("archive: Config without a Store or a Server")
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Waits == nil {
		c.Waits = func() {}
	}
	return &Pusher{cfg: c, log: c.Log, described: map[int64]string{}, lines: mostAtOnce}
}

// Push pushes until the archive has everything, or until it cannot go on: the
// error is then a *Fault, or that of the store or of ctx. What the archive had
// refused before is tried once more only where again. Why it could not go on is
// kept in the store as well.
func (p *Pusher) Push(ctx context.Context, again bool) (sum Sum, err error) {
	p.busy.Store(true)
	defer p.busy.Store(false)
	unlock, err := p.cfg.Store.LockArchive(ctx, p.cfg.Waits)
	if err != nil {
		return sum, err
	}
	defer func() { err = errors.Join(err, unlock()) }()
	err = p.push(ctx, again, &sum)
	if fault, ok := errors.AsType[*Fault](err); ok {
		err = p.noteFault(ctx, fault)
	}
	return sum, err
}

func (p *Pusher) noteFault(ctx context.Context, fault *Fault) error {
	if err := p.cfg.Store.ArchiveFailed(ctx, p.cfg.Server.Address(), fault.Says); err != nil {
		return errors.Join(fault, err)
	}
	return fault
}

func (p *Pusher) push(ctx context.Context, again bool, sum *Sum) error {
	waiting, err := p.refusedBefore(ctx, again)
	if err != nil {
		return err
	}
	for {
		cells, err := p.cells(ctx)
		if err != nil {
			return err
		}
		busy := false
		for _, c := range cells {
			more, err := p.step(ctx, c, waiting, sum)
			if err != nil {
				return err
			}
			busy = busy || more
		}
		if err := p.pushPulls(ctx, cells, again && !busy, sum); err != nil {
			return err
		}
		if !busy {
			return nil
		}
	}
}

// step pushes the next readings of a cell: those that are new, else those of a
// stretch. It is false where there are none.
func (p *Pusher) step(ctx context.Context, c archived, waiting map[int64]bool, sum *Sum) (bool, error) {
	if err := p.describe(ctx, c); err != nil {
		return false, err
	}
	b, err := p.read(ctx, c, c.at.Until, math.MaxInt64)
	if err != nil {
		return false, err
	}
	if b.n+b.damaged > 0 {
		refused, err := p.send(ctx, c, b, false, sum)
		if err == nil {
			_, err = p.cfg.Store.Pushed(ctx, c.at, b.until, refused)
		}
		return true, err
	}
	stretches, err := p.cfg.Store.ArchiveStretches(ctx, c.at, false)
	if err != nil {
		return false, err
	}
	if len(stretches) > 0 {
		return true, p.stepStretch(ctx, c, stretches[0], sum)
	}
	if len(waiting) == 0 {
		return false, nil
	}
	return p.stepRefused(ctx, c, waiting, sum)
}

func (p *Pusher) stepStretch(ctx context.Context, c archived, t store.ArchiveStretch, sum *Sum) error {
	b, err := p.read(ctx, c, t.From, t.To)
	if err != nil {
		return err
	}
	refused, err := p.send(ctx, c, b, false, sum)
	if err != nil {
		return err
	}
	return p.cfg.Store.PushedAgain(ctx, c.at, t, b.until, refused)
}

// portion is some readings of a cell that follow each other.
type portion struct {
	runs    []store.Run
	n       int
	damaged int
	until   int64 // where the next one begins
}

// read takes the next readings from the store. It does not stay in the store
// while they are pushed.
func (p *Pusher) read(ctx context.Context, c archived, from, to int64) (b portion, err error) {
	b.until = from
	damaged := func(d *store.DamageError) {
		p.log.Warn("readings cannot be archived", "error", d)
		b.damaged, b.until = b.damaged+d.Readings, max(b.until, min(d.To+1, to))
	}
	for run, err := range p.cfg.Store.IntactRuns(ctx, c.ID, from, to, damaged) {
		if err != nil {
			return b, err
		}
		run.Raw, run.Marks = slices.Clone(run.Raw), slices.Clone(run.Marks) // the store takes up their memory
		b.runs, b.n, b.until = append(b.runs, run), b.n+len(run.Raw), run.Last()+1
		if b.n >= readAtOnce {
			return b, nil
		}
	}
	if to != math.MaxInt64 {
		b.until = to
	}
	return b, ctx.Err()
}

// send pushes readings and gives the stretches that were refused. Where stop,
// it ends with the first.
func (p *Pusher) send(ctx context.Context, c archived, b portion, stop bool, sum *Sum) (refused []store.ArchiveStretch, err error) {
	lines := NewLines(c.at.Station, c.at.Name)
	for _, run := range b.runs {
		for i := 0; i < len(run.Raw); {
			j := min(i+p.lines, len(run.Raw))
			fault, err := p.sendSome(ctx, p.encode(lines, c, run, i, j))
			switch {
			case err != nil:
				return refused, err
			case fault == nil:
				sum.Readings += j - i
			case fault.Kind == Refused:
				refused = append(refused, store.ArchiveStretch{From: run.At(i), To: run.At(j-1) + 1, Refusal: fault.Says})
				sum.Refused += j - i
				if stop {
					return refused, nil
				}
			default:
				continue // with fewer
			}
			i = j
		}
	}
	sum.Damaged += b.damaged
	return refused, nil
}

// sendSome sends lines. A fault that it gives is a refusal, or asks for fewer
// lines; any other is an error.
func (p *Pusher) sendSome(ctx context.Context, lines []byte) (*Fault, error) {
	err := p.cfg.Server.send(ctx, lines)
	fault, ok := errors.AsType[*Fault](err)
	switch {
	case err == nil:
		p.lines = min(2*p.lines, mostAtOnce)
		return nil, nil
	case ok && fault.Kind == Refused:
		return fault, nil
	case ok && (fault.Kind == Slow || fault.Kind == Large) && p.lines > leastAtOnce:
		p.lines = max(p.lines/4, leastAtOnce)
		return fault, nil
	}
	return nil, err
}

func (p *Pusher) encode(lines *Lines, c archived, run store.Run, i, j int) []byte {
	b := trace.Batch{T: p.batch.T[:0]}
	for k := i; k < j; k++ {
		b.T = append(b.T, run.At(k))
	}
	b.F = c.Forces(p.batch.F[:0], b.T, run.Raw[i:j])
	p.batch = b
	if run.Marks != nil {
		b.Marks = run.Marks[i:j]
	}
	p.buf = lines.Append(p.buf[:0], b, run.Raw[i:j])
	return p.buf
}

// point is one line.
func point(measurement string, c store.ArchivedCell, at int64, f fields) []byte {
	line := append(appendSeries(nil, measurement, c.Station, c.Name, at), ' ')
	return append(fmt.Appendf(append(line, f...), " %d", at), '\n')
}
