package record

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// writer commits what the lines have buffered, all cells in one transaction,
// and folds what has been committed. It is one goroutine.
type writer struct {
	keep  Keeper
	log   *slog.Logger
	every time.Duration
	hold  int
	now   func() time.Time

	wake chan struct{} // a line has something new

	mu    sync.Mutex
	lines []*line

	held     held
	failing  error
	failedAt time.Time
	slowest  time.Duration // of the latest commits
	tails    map[int64]tail
}

// tail is what was committed since the last folding.
type tail struct{ readings, runs int }

const (
	// mostAtOnce bounds one transaction, in readings.
	mostAtOnce = 1 << 17
	// foldReadings and foldRuns are when the store is asked to fold tails; it
	// does so where they fill a block.
	foldReadings = 1 << 13
	foldRuns     = 1000
	retryEvery   = time.Second
	lastTries    = 5
)

func newWriter(c Config) *writer {
	return &writer{
		keep: c.Store, log: c.Log, every: c.CommitEvery, hold: c.Hold, now: c.Now,
		wake: make(chan struct{}, 1), tails: map[int64]tail{},
	}
}

// watch has the writer take what a line buffers, in place of an earlier line
// of the same cell where there is one.
func (w *writer) watch(l, old *line) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lines = append(slices.DeleteFunc(slices.Clone(w.lines), func(o *line) bool { return o == old }), l)
	w.arrived()
}

// all is the lines of the moment.
func (w *writer) all() []*line {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.lines
}

// arrived tells the writer that a line has begun to buffer.
func (w *writer) arrived() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// run commits until ended is closed, and then what is left.
func (w *writer) run(ended <-chan struct{}) error {
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	for {
		timer.Reset(w.wait())
		select {
		case <-w.wake:
		case <-timer.C:
			w.commit()
			w.fold(false)
		case <-ended:
			return w.finish()
		}
	}
}

// wait is how long the writer may wait: until the oldest reading has to be
// written, with time in hand for two commits as slow as the slowest of late; or
// until it is time to try a failing disk again.
func (w *writer) wait() time.Duration {
	if w.failing != nil {
		return max(0, retryEvery-w.now().Sub(w.failedAt))
	}
	inHand := min(max(w.every*2/5, 2*w.slowest), w.every*4/5)
	wait := time.Hour
	for _, l := range w.all() {
		l.mu.Lock()
		if !l.pending.empty() {
			wait = min(wait, w.every-inHand-w.now().Sub(l.pending.oldest))
		}
		l.mu.Unlock()
	}
	return max(0, wait)
}

// commit writes what is buffered.
func (w *writer) commit() {
	for _, l := range w.all() {
		l.mu.Lock()
		runs := l.pending.take()
		l.mu.Unlock()
		w.held.add(runs)
	}
	wasFailing, begun := w.failing, w.now()
	w.failing = w.write()
	took := w.now().Sub(begun)
	if w.failing == nil {
		w.slowest = max(took, w.slowest*49/50)
	}
	w.bound()
	w.report(wasFailing)
}

// write appends what is held, in transactions of bounded size.
func (w *writer) write() error {
	for len(w.held.runs) > 0 {
		runs := w.held.first(mostAtOnce)
		err := w.keep.Append(context.Background(), runs)
		if hopeless(err) {
			err = w.writeSingly(runs)
		}
		if err != nil {
			w.failedAt = w.now()
			return err
		}
		for _, r := range runs {
			t := w.tails[r.Cell]
			w.tails[r.Cell] = tail{t.readings + len(r.Raw), t.runs + 1}
		}
		w.held.drop(len(runs))
	}
	return nil
}

// hopeless says that the store will never take these readings.
func hopeless(err error) bool {
	return errors.Is(err, store.ErrOverlap) || errors.Is(err, store.ErrInvalid) || errors.Is(err, store.ErrNotFound)
}

// writeSingly writes run by run, so that one that the store will never take
// does not keep the others away. That one is lost, and people are told.
func (w *writer) writeSingly(runs []store.Run) error {
	for i, r := range runs {
		err := w.keep.Append(context.Background(), runs[i:i+1])
		switch {
		case hopeless(err):
			w.lose(r, len(r.Raw), err)
		case err != nil:
			w.held.drop(i)
			return err
		}
	}
	return nil
}

// bound gives up the oldest of what is held beyond the bound.
func (w *writer) bound() {
	for w.held.n > w.hold {
		r := &w.held.runs[0]
		over := w.held.n - w.hold
		if over >= len(r.Raw) {
			w.lose(*r, len(r.Raw), w.failing)
			w.held.drop(1)
			continue
		}
		w.lose(*r, over, w.failing)
		r.Start += int64(over) * int64(r.Step)
		r.Raw = r.Raw[over:]
		if r.Marks != nil {
			r.Marks = r.Marks[over:]
		}
		w.held.n -= over
	}
}

// lose notes that the first n readings of a run are given up.
func (w *writer) lose(r store.Run, n int, reason error) {
	for _, l := range w.all() {
		if l.cell.ID != r.Cell {
			continue
		}
		l.change(func(s *state) {
			if s.lost.n == 0 {
				s.lost.from = r.Start
				w.log.Error("readings are given up", "cell", l.cell.Name, "error", reason)
			}
			s.lost.n += n
			s.lost.to = r.Start + int64(n-1)*int64(r.Step)
			s.lost.reason = reason
		})
	}
}

// report tells the lines, and so the people, how writing goes.
func (w *writer) report(before error) {
	if w.failing == nil && before == nil {
		return
	}
	if before == nil {
		w.log.Error("the disk takes no readings, they are held in memory", "error", w.failing)
	}
	if w.failing == nil {
		w.log.Info("the disk takes readings again, what was held is written")
	}
	count := map[int64]int{}
	for _, r := range w.held.runs {
		count[r.Cell] += len(r.Raw)
	}
	room := w.room()
	for _, l := range w.all() {
		l.change(func(s *state) { s.refusal, s.held, s.room = w.failing, count[l.cell.ID], room })
	}
}

// room is for how long readings can still be held at the rate of late.
func (w *writer) room() time.Duration {
	if len(w.held.runs) == 0 {
		return 0
	}
	var rate float64
	seen := map[int64]bool{}
	for i := len(w.held.runs) - 1; i >= 0 && len(seen) < len(w.all()); i-- {
		if r := w.held.runs[i]; !seen[r.Cell] {
			seen[r.Cell] = true
			rate += 1 / r.Step
		}
	}
	return time.Duration(float64(w.hold-w.held.n) / rate)
}

// fold folds the tails of the cells that have many, at the end of all.
func (w *writer) fold(all bool) {
	if w.failing != nil {
		return
	}
	for cell, t := range w.tails {
		if !all && t.readings < foldReadings && t.runs < foldRuns {
			continue
		}
		delete(w.tails, cell)
		if _, err := w.keep.Fold(context.Background(), cell); err != nil {
			w.log.Error("tails were not folded into blocks; they stay as they are until the next time", "error", err)
		}
		if !all {
			return // the others with the next commit
		}
	}
}

// finish writes what is left. A disk that refuses it is tried some times.
func (w *writer) finish() error {
	w.commit()
	for try := 1; w.failing != nil && try < lastTries; try++ {
		time.Sleep(retryEvery)
		w.commit()
	}
	if w.failing != nil {
		return fmt.Errorf("%s: %w", words.Count("record.givenup", w.held.n), w.failing)
	}
	w.fold(true)
	return nil
}
