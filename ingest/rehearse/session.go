package rehearse

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"tautlog/ingest/port"
)

// Options say what Start plays.
type Options struct {
	Cell   Cell
	Script Script
	Seed   uint64
	Faults Faults
	// Dir is where the device appears, under the name of the cell. Empty: a
	// new directory for temporary files, which goes when the session ends.
	Dir string
	// Pipe asks for a pipe within this process even where the system has
	// pseudo-terminals.
	Pipe bool
	// Holds has the cell wait where the line takes no more, as one with flow
	// control does, instead of losing what it sends.
	Holds bool
	// Announce, if set, is called some seconds before each pull of the
	// script, when a crew would have rigged for it. It must return at once.
	Announce func(Pull)
	// Sent, if set, is called with the readings that leave the cell together
	// and the time at which the line began to take them. It must return at
	// once, and keep nothing of the slice.
	Sent func(readings []Sample, at time.Time)
}

// Session is a simulated cell at work.
type Session struct {
	// Path is the device to open. It stays the same when the cell is
	// unplugged and comes back.
	Path string

	device device
	real   bool
	why    string // why it is not real
	stats  stats
	stop   context.CancelFunc
	done   chan struct{}
	err    error
}

// Stats counts what a session has done.
type Stats struct {
	Readings int64 // made by the cell
	Sent     int64 // bytes taken by the line
	Unread   int64 // bytes lost because nobody read them or the plug was out
	Damaged  int64 // bytes in which a bit was flipped on purpose
	Dropped  int64 // bytes left out on purpose
}

type stats struct{ readings, sent, unread, damaged, dropped atomic.Int64 }

// Start powers the cell up. It plays until ctx ends or Close is called, in
// real time.
func Start(ctx context.Context, o Options) (*Session, error) {
	g, err := NewGenerator(o.Cell, o.Script, o.Seed)
	if err != nil {
		return nil, err
	}
	g.announce = o.Announce
	s := &Session{done: make(chan struct{})}
	clean, err := s.connect(o)
	if err != nil {
		return nil, err
	}
	ctx, s.stop = context.WithCancel(ctx)
	p := &player{session: s, options: o, generator: g, encoder: NewEncoder(o.Cell), listener: newListener(o.Cell), spoiler: newSpoiler(o.Faults, o.Seed)}
	go func() {
		defer close(s.done)
		defer clean()
		defer s.device.unplug()
		s.err = p.play(ctx)
	}()
	return s, nil
}

// connect makes the device and plugs it in.
func (s *Session) connect(o Options) (clean func(), err error) {
	clean = func() {}
	dir := o.Dir
	if dir == "" && !o.Pipe {
		if dir, err = os.MkdirTemp("", "tautlog-rehearse-"); err != nil {
			return nil, fmt.Errorf("no place for the simulated device: %w", err)
		}
		clean = func() { _ = os.RemoveAll(dir) }
	}
	path := filepath.Join(dir, fileName(o.Cell.Name))
	if t := newTerminal(path); t != nil && !o.Pipe {
		if err = t.plug(); err == nil {
			s.Path, s.device, s.real = path, t, true
			return clean, nil
		}
		s.why = err.Error()
	}
	clean()
	if s.why == "" {
		s.why = errNoTerminal.Error()
	}
	if o.Pipe {
		s.why = "it was asked for"
	}
	s.Path, s.device = "rehearsal:"+o.Cell.Name, newPipe()
	return func() {}, s.device.plug()
}

// fileName makes a name that every file system takes.
func fileName(cell string) string {
	return "cell-" + strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' {
			return r
		}
		return '_'
	}, cell)
}

// Real reports whether the bytes go through a device of the operating system.
func (s *Session) Real() bool { return s.real }

// Note says in a sentence how the bytes reach the recorder.
func (s *Session) Note() string {
	if s.real {
		return "The simulated cell writes to a pseudo-terminal at " + s.Path + ", which is opened like any serial device."
	}
	return "The simulated cell writes to a pipe within this program instead of a serial device: " + s.why + "."
}

// Line is the serial line to record.
func (s *Session) Line() port.Line { return port.Line{Path: s.Path} }

// Stats says what was done so far.
func (s *Session) Stats() Stats {
	c := &s.stats
	return Stats{c.readings.Load(), c.sent.Load(), c.unread.Load(), c.damaged.Load(), c.dropped.Load()}
}

// Done is closed when nothing more is written.
func (s *Session) Done() <-chan struct{} { return s.done }

// Close ends the session and waits until nothing more is written. It gives
// the reason where the session ended by itself.
func (s *Session) Close() error {
	s.stop()
	<-s.done
	return s.err
}

// Follow does what port.Follow does, and also knows the lines of sessions
// that have no real device.
func (s *Session) Follow(ctx context.Context, l port.Line, handle func(port.Event)) error {
	return Follow(s)(ctx, l, handle)
}

// Follow makes a function like port.Follow that also knows the lines of these
// sessions.
func Follow(sessions ...*Session) func(context.Context, port.Line, func(port.Event)) error {
	return func(ctx context.Context, l port.Line, handle func(port.Event)) error {
		for _, s := range sessions {
			if p, ok := s.device.(*pipe); ok && s.Path == l.Path {
				return p.follow(ctx, handle)
			}
		}
		return port.Follow(ctx, l, handle)
	}
}
