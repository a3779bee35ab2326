package port

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"time"

	"go.bug.st/serial"
)

const (
	// readWait is how long a read waits for bytes, and so how late the end of
	// a context may be seen. Reads return as soon as there is a byte.
	readWait = 40 * time.Millisecond
	// firstRetry and lastRetry are the shortest and the longest time between
	// two attempts to open a line.
	firstRetry = 50 * time.Millisecond
	lastRetry  = 250 * time.Millisecond
	// gatherLeast and gatherMost bound for how long bytes gather between two
	// reads. Each time that this process wakes up costs more than the decoding of
	// the readings that it then finds. The time varies, so that reads are not in step
	// with frames: of many frames some are read as they arrive, which is what times
	// are fitted to.
	gatherLeast, gatherMost = 20 * time.Millisecond, 40 * time.Millisecond
	// gatherBytes is a quarter of what the system holds of a line: no more than
	// these gather.
	gatherBytes = 1024
	// answersFor is how long a line counts as being asked after a request. An
	// answer is timed by its arrival, so there nothing gathers.
	answersFor = 2 * time.Second
	// bufferSize holds a third of a second at 115200 baud.
	bufferSize = 4096
)

// Follow opens the line and hands every event to handle, one at a time, and
// opens it again whenever it has gone, until ctx ends. It returns only after
// the last call of handle has returned: nil when ctx ended, an error when the
// line is none that could ever be opened (no path, a negative rate).
//
// A line that another tautlog has open counts as not there: the device is
// locked (flock) while it is followed.
func Follow(ctx context.Context, l Line, handle func(Event)) error {
	if err := l.validate(); err != nil {
		return err
	}
	f := follower{line: l, handle: handle, buffer: make([]byte, bufferSize)}
	for wait := firstRetry; ; wait = min(2*wait, lastRetry) {
		if f.session(ctx) {
			wait = firstRetry
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
	}
}

// Discard reads away what waits at a line that nobody had open, so that what is
// read next was sent after that. It ends with ctx at the latest. Its error is a
// *Problem, or that of a line that is none.
func Discard(ctx context.Context, l Line) error {
	if err := l.validate(); err != nil {
		return err
	}
	p, err := open(l)
	if err != nil {
		return err
	}
	defer p.close()
	buffer := make([]byte, bufferSize)
	for ctx.Err() == nil {
		begun := time.Now()
		n, err := p.port.Read(buffer)
		if err != nil {
			return &Problem{Line: l, Kind: Gone, Err: err}
		}
		if n == 0 || time.Since(begun) >= time.Millisecond { // it had to wait: nothing was there any more
			return nil
		}
	}
	return nil
}

// follower is one Follow at work.
type follower struct {
	line   Line
	handle func(Event)
	buffer []byte
	down   bool // the present outage was told
}

// session opens the line once and reads until it goes away or ctx ends. It
// reports whether anything was read.
func (f *follower) session(ctx context.Context) (read bool) {
	if ctx.Err() != nil {
		return false
	}
	p, err := open(f.line)
	if err != nil {
		f.tellDown(err)
		return false
	}
	// Closing while a Read is under way would be a race for the descriptor
	// inside the serial library, so the reading loop itself sees ctx end.
	defer p.close()
	f.down = false
	f.handle(Event{At: time.Now(), Up: true, Send: p.send})
	last, ended := time.Now(), false
	for !ended {
		ended = ctx.Err() != nil // then what has gathered is read, and that is all
		begun := time.Now()
		n, err := p.port.Read(f.buffer) // n = 0 without an error is a timeout
		now := time.Now()
		if n > 0 {
			read = true
			e := Event{At: now, Bytes: f.buffer[:n]}
			if now.Sub(begun) < time.Millisecond {
				e.Since = last // they were there already
			}
			f.handle(e)
			if !ended {
				time.Sleep(f.line.gather(n, now.Sub(last), p.asked()))
			}
		}
		last = now
		if err != nil {
			f.tellDown(&Problem{Line: f.line, Kind: Gone, Err: err})
			return read
		}
	}
	return read
}

// gather is how long to leave a line alone after a read of n bytes that came
// since the read before.
func (l Line) gather(n int, since time.Duration, asked bool) time.Duration {
	if asked {
		return 0
	}
	byRate := time.Duration(float64(gatherBytes*10) / float64(l.mode().BaudRate) * 1e9) // ten bits a byte
	// A pseudo-terminal has no rate. What is that fast fills the system's buffer
	// soon where the machine is busy with other work, so half as much gathers.
	seen := time.Duration(float64(since) * gatherBytes / 2 / float64(n))
	return min(byRate, seen, gatherLeast+rand.N(gatherMost-gatherLeast))
}

func (f *follower) tellDown(err error) {
	if f.down {
		return
	}
	f.down = true
	f.handle(Event{At: time.Now(), Down: err})
}

// opened is an open, locked line.
type opened struct {
	port serial.Port
	lock lock

	sending sync.Mutex
	closed  bool
	sent    time.Time // the latest request
}

// sendWait is how long the device may take no bytes.
const sendWait = 250 * time.Millisecond

// send writes to the device. Closing it waits for that.
func (o *opened) send(p []byte) error {
	o.sending.Lock()
	defer o.sending.Unlock()
	if o.closed {
		return errGone
	}
	o.sent = time.Now()
	return o.lock.write(o.port, p)
}

// asked says whether something was sent of late, so that an answer may come.
func (o *opened) asked() bool {
	o.sending.Lock()
	defer o.sending.Unlock()
	return !o.sent.IsZero() && time.Since(o.sent) < answersFor
}

// errGone says that the device is open no more.
var errGone = errors.New("the device is open no more")

func (o *opened) close() {
	o.sending.Lock()
	defer o.sending.Unlock()
	o.closed = true
	// Errors of closing a device that may have gone say nothing new.
	_ = o.port.Close()
	o.lock.release()
}

// open locks and opens a line.
func open(l Line) (*opened, error) {
	k, err := acquire(l.Path)
	if err != nil {
		return nil, problem(l, err)
	}
	p, err := serial.Open(l.Path, l.mode())
	if err == nil {
		err = p.SetReadTimeout(readWait)
		l.setOutputs(p)
	}
	if err != nil {
		if p != nil {
			_ = p.Close()
		}
		k.release()
		return nil, problem(l, err)
	}
	return &opened{port: p, lock: k}, nil
}

func (l Line) mode() *serial.Mode {
	m := &serial.Mode{BaudRate: l.Baud, DataBits: 8}
	if m.BaudRate == 0 {
		m.BaudRate = DefaultBaud
	}
	switch l.Frame {
	case Frame8E1:
		m.Parity = serial.EvenParity
	case Frame8O1:
		m.Parity = serial.OddParity
	case Frame8N2:
		m.StopBits = serial.TwoStopBits
	case Frame7E1:
		m.DataBits, m.Parity = 7, serial.EvenParity
	case Frame7O1:
		m.DataBits, m.Parity = 7, serial.OddParity
	}
	return m
}

// setOutputs holds DTR and RTS off where that is wanted. A device without
// them, such as a pseudo-terminal, refuses; then there is nothing to hold.
func (l Line) setOutputs(p serial.Port) {
	if l.DTROff {
		_ = p.SetDTR(false)
	}
	if l.RTSOff {
		_ = p.SetRTS(false)
	}
}
