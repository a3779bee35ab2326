package listen

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

const (
	// sampleSize is as much of the bytes as is kept to look at.
	sampleSize = 1 << 18
	// shownPieces and shownBytes bound what is shown of them.
	shownPieces = 8
	shownBytes  = 48
	// settling is how long at the start bytes may still come that had waited
	// for a reader: they tell nothing of how many come in a second.
	settling = 250 * time.Millisecond
)

// Options say what to listen to and how.
type Options struct {
	Line port.Line
	// Wire is used as it is where its Format is set; else a way of reading is
	// proposed. Of its Ask, what is sent is used either way.
	Wire wire.Config
	// Follow follows a serial line; port.Follow when nil.
	Follow func(context.Context, port.Line, func(port.Event)) error
	// Remark, if set, is told what happens meanwhile, a sentence each.
	Remark func(string)
}

func (o Options) remark(say string) {
	if o.Remark != nil {
		o.Remark(say)
	}
}

func (o Options) follow(ctx context.Context, handle func(port.Event)) error {
	if o.Follow != nil {
		return o.Follow(ctx, o.Line, handle)
	}
	return port.Follow(ctx, o.Line, handle)
}

// Hearing is what was heard on a line. It is not safe for concurrent use.
type Hearing struct {
	Line    port.Line
	Bytes   int // that came
	Outages int
	Up      bool
	Problem error // why the line is not there; of the latest outage

	options     Options
	sample      []byte    // the latest bytes
	waited      int       // bytes that came at the start: they may have waited for a reader
	first, last time.Time // when bytes came
	from        time.Time // when the latest came that may have waited
	wasUp       bool
}

func newHearing(o Options) *Hearing { return &Hearing{Line: o.Line, options: o} }

// take takes what happens on the line.
func (h *Hearing) take(e port.Event) {
	switch {
	case e.Up:
		h.Up, h.wasUp, h.Problem = true, true, nil
	case e.Down != nil:
		if h.Up {
			h.Outages++
		}
		h.Up, h.Problem = false, e.Down
	case len(e.Bytes) > 0:
		if h.Bytes == 0 {
			h.first = e.At
		}
		if e.At.Sub(h.first) < settling {
			h.waited += len(e.Bytes)
			h.from = e.At
		}
		h.last = e.At
		h.Bytes += len(e.Bytes)
		h.sample = append(h.sample, e.Bytes...)
		if n := len(h.sample); n > sampleSize {
			h.sample = append(h.sample[:0], h.sample[n-sampleSize/2:]...)
		}
	}
}

// Seconds is the time from the first bytes to the last.
func (h *Hearing) Seconds() float64 { return h.last.Sub(h.first).Seconds() }

// rate is how many of n things in the sample came in a second; 0 where it
// cannot be told.
func (h *Hearing) rate(n uint64) float64 {
	seconds := h.last.Sub(h.from).Seconds()
	if h.Bytes <= h.waited || seconds <= 0 {
		return 0
	}
	perByte := seconds / float64(h.Bytes-h.waited)
	return float64(n) / (perByte * float64(len(h.sample)))
}

// Proposal is a way of reading what was heard.
type Proposal struct {
	wire.Proposal
	InWords string  `json:"in_words"`
	PerS    float64 `json:"readings_per_s"`
}

// Proposals are the ways in which what was heard could be read, the likeliest
// first: the one that was given, if one was.
func (h *Hearing) Proposals() []Proposal {
	c := h.options.Wire
	var found []wire.Proposal
	if c.Format != "" {
		if p, ok := wire.Try(c, h.sample); ok {
			found = append(found, p)
		}
	} else {
		found = wire.ProposeAnswers(h.sample, c.Ask)
	}
	all := make([]Proposal, len(found))
	for i, p := range found {
		p = p.WithRate(h.rate(p.Stats.Units))
		all[i] = Proposal{p, p.Config.Describe(), h.rate(p.Stats.Readings)}
	}
	return all
}

// Latest gives the n latest readings of what was heard, read as proposed, as a
// person writes them: 12.34 kN, or 3120 counts.
func (h *Hearing) Latest(p Proposal, n int) (shown []string) {
	dec, err := wire.New(p.Config)
	if err != nil {
		return nil
	}
	read := dec.Decode(nil, h.sample)
	u, decimals, known := p.Config.ForceUnit()
	for _, r := range read[max(0, len(read)-n):] {
		switch {
		case r.Mark != 0:
			shown = append(shown, words.Say("listen.marked"))
		case known:
			shown = append(shown, strconv.FormatFloat(float64(r.Raw)/math.Pow10(decimals), 'f', decimals, 64)+" "+string(u))
		default:
			shown = append(shown, words.Count("listen.counts", int(r.Raw)))
		}
	}
	return shown
}

// Sent gives the latest complete lines or frames, as text or in hex, and
// which of the two they are read as.
func (h *Hearing) Sent(f wire.Format) (shown []string) {
	if f == wire.Modbus {
		return []string{showPiece(h.sample[max(0, len(h.sample)-shownBytes):], f)}
	}
	ends := "\r\n\x03"
	if f != wire.Text {
		ends = "\x00"
	}
	all := bytes.FieldsFunc(h.sample, func(r rune) bool { return strings.ContainsRune(ends, r) })
	if n := len(all); n > 1 && !bytes.ContainsAny(h.sample[len(h.sample)-1:], ends) {
		all = all[:n-1] // it has not ended
	}
	for _, b := range all[max(0, len(all)-shownPieces):] {
		shown = append(shown, showPiece(b, f))
	}
	return shown
}

// showPiece makes bytes printable, whatever a damaged line holds.
func showPiece(b []byte, f wire.Format) string {
	more := ""
	if len(b) > shownBytes {
		b, more = b[:shownBytes], " …"
	}
	if f == wire.Text {
		s := fmt.Sprintf("%q", b)
		return strings.ReplaceAll(s[1:len(s)-1], `\"`, `"`) + more
	}
	return fmt.Sprintf("% x", b) + more
}
