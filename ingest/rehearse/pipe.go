package rehearse

import (
	"context"
	"errors"
	"sync"
	"time"

	"tautlog/ingest/port"
)

// pipe stands in for a serial device within this process, where the system
// has no pseudo-terminals. It behaves like one towards port.Follow's callers:
// it holds little, loses what nobody reads, and can be unplugged.
type pipe struct {
	mu       sync.Mutex
	plugged  bool
	followed bool
	held     []byte
	asked    []byte // sent to the amplifier, which has not looked yet
	heard    []byte // what it has looked at
	wake     chan struct{}
}

// pipeHolds is what a pseudo-terminal holds on Linux.
const pipeHolds = 4096

func newPipe() *pipe { return &pipe{wake: make(chan struct{}, 1)} }

func (p *pipe) plug() error { p.set(true); return nil }
func (p *pipe) unplug()     { p.set(false) }

func (p *pipe) set(plugged bool) {
	p.mu.Lock()
	p.plugged, p.held, p.asked = plugged, p.held[:0], p.asked[:0]
	p.mu.Unlock()
	p.rouse()
}

func (p *pipe) rouse() {
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

func (p *pipe) write(b []byte) int {
	p.mu.Lock()
	n := 0
	if p.plugged && p.followed {
		n = min(len(b), pipeHolds-len(p.held))
		p.held = append(p.held, b[:n]...)
	}
	p.mu.Unlock()
	p.rouse()
	return n
}

func (p *pipe) read() []byte {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.heard, p.asked = p.asked, p.heard[:0]
	return p.heard
}

// send is what a follower sends to the amplifier.
func (p *pipe) send(b []byte) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.plugged || !p.followed {
		return errUnplugged
	}
	p.asked = append(p.asked, b...)
	return nil
}

// errUnplugged is what a follower of the pipe is told.
var errUnplugged = errors.New("the simulated device went away: it comes back by itself")

// follow does for the pipe what port.Follow does for a serial line. Only one
// follower at a time gets the bytes.
func (p *pipe) follow(ctx context.Context, handle func(port.Event)) error {
	defer p.enter(false)
	p.enter(true)
	up, buffer := false, make([]byte, 0, pipeHolds)
	for {
		p.mu.Lock()
		plugged := p.plugged
		buffer = append(buffer[:0], p.held...)
		p.held = p.held[:0]
		p.mu.Unlock()
		switch now := time.Now(); {
		case plugged && !up:
			handle(port.Event{At: now, Up: true, Send: p.send})
		case !plugged && up:
			handle(port.Event{At: now, Down: errUnplugged})
		}
		if up = plugged; up && len(buffer) > 0 {
			handle(port.Event{At: time.Now(), Bytes: buffer})
		}
		select {
		case <-ctx.Done():
			return nil
		case <-p.wake:
		}
	}
}

func (p *pipe) enter(followed bool) {
	p.mu.Lock()
	p.followed, p.held = followed, p.held[:0]
	p.mu.Unlock()
}
