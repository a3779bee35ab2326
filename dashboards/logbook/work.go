package logbook

import (
	"context"
	"slices"
	"sync"
)

// work is what is done while nobody waits for it, one thing after the other.
type work struct {
	mu    sync.Mutex
	on    bool // Run runs
	tasks []task
	busy  string        // what is being done
	wake  chan struct{} // something was added
	idle  []chan struct{}
}

// task is a thing to do.
type task struct {
	name string
	do   func(context.Context) error
}

// later puts a thing on the list, unless it is there already; false where
// nobody works on the list, so that it must be done at once.
func (w *work) later(name string, do func(context.Context) error) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.on {
		return false
	}
	if w.busy != name && !slices.ContainsFunc(w.tasks, func(t task) bool { return t.name == name }) {
		w.tasks = append(w.tasks, task{name, do})
		select {
		case w.wake <- struct{}{}:
		default:
		}
	}
	return true
}

// next takes the first thing from the list.
func (w *work) next() (task, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.tasks) == 0 {
		w.busy = ""
		for _, c := range w.idle {
			close(c)
		}
		w.idle = nil
		return task{}, false
	}
	t := w.tasks[0]
	w.tasks, w.busy = w.tasks[1:], t.name
	return t, true
}

func (w *work) set(on bool, tasks ...task) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.on, w.busy, w.tasks = on, "", tasks
}

// begin asks for what is asked for most.
func (b *Book) begin(ctx context.Context) error {
	h, err := b.InUse(ctx)
	if err == nil {
		_, err = b.OfSet(ctx, h.Ref())
	}
	if err == nil {
		_, err = b.Sets(ctx)
	}
	if err == nil {
		_, err = b.OfLog(ctx)
	}
	return err
}

// Run reads the log and the set that is planned with and fits them, and then
// does in the background whatever else takes long, until ctx ends. When it
// returns nothing of that goes on any more. failed is told what could not be
// done; whoever asks for it next has it tried again.
func (b *Book) Run(ctx context.Context, failed func(error)) {
	b.work.set(true, task{"begin", b.begin})
	defer b.work.set(false)
	for {
		t, ok := b.work.next()
		if !ok {
			select {
			case <-ctx.Done():
				return
			case <-b.work.wake:
			}
			continue
		}
		if err := t.do(ctx); err != nil && ctx.Err() == nil {
			failed(err)
		}
		if ctx.Err() != nil {
			return
		}
	}
}

// Wait waits until nothing is left to do in the background, or ctx ends.
func (b *Book) Wait(ctx context.Context) {
	b.work.mu.Lock()
	if b.work.busy == "" && len(b.work.tasks) == 0 {
		b.work.mu.Unlock()
		return
	}
	c := make(chan struct{})
	b.work.idle = append(b.work.idle, c)
	b.work.mu.Unlock()
	select {
	case <-c:
	case <-ctx.Done():
	}
}

// answer is what came of a question.
type answer struct {
	question string
	log      int64 // version of the log
	says     any
}

// manyAnswers is how many answers are kept.
const manyAnswers = 16

// Answer gives the answer to a question about what the log says, which is
// worked out by do and takes long where the log is large: then it is not there
// at first, and ok is false. Whoever asks again later is given it, as long as
// the log has not changed.
func (b *Book) Answer(ctx context.Context, question string, do func(context.Context, Told) (any, error)) (says any, ok bool, err error) {
	t, err := b.OfLog(ctx)
	if err != nil {
		return nil, false, err
	}
	if t.Pulls <= b.many && !t.Behind {
		says, err = do(ctx, t)
		return says, err == nil, err
	}
	version := b.latest().version
	b.mu.Lock()
	i := slices.IndexFunc(b.answers, func(a answer) bool { return a.question == question && a.log == version })
	if i >= 0 {
		says = b.answers[i].says
	}
	b.mu.Unlock()
	if i >= 0 && !t.Behind {
		return says, true, nil
	}
	work := func(ctx context.Context) error {
		have := b.latest()
		if have.told.Fitted == nil {
			return nil
		}
		says, err := do(ctx, have.told)
		if err != nil {
			return err
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		b.answers = append(b.answers, answer{question: question, log: have.version, says: says})
		b.answers = b.answers[max(0, len(b.answers)-manyAnswers):]
		return nil
	}
	if !b.work.later("answer "+question, work) {
		says, err = do(ctx, t)
		return says, err == nil, err
	}
	return nil, false, nil
}
