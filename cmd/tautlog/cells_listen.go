package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

const (
	// sampleSize is as much of the bytes as is kept to look at.
	sampleSize = 1 << 18
	// shownPieces and shownBytes bound what is shown of them.
	shownPieces = 8
	shownBytes  = 48
)

// hearing is what was heard on a port.
type hearing struct {
	line        port.Line
	sample      []byte // the latest bytes
	bytes       int
	first, last time.Time // when bytes came
	wasUp       bool
	outages     int
	problem     error // why the line is not there
}

// listen listens to a port for a time, or until ctx ends. It fails when the
// port cannot be opened or nothing came.
func listen(ctx context.Context, l port.Line, d time.Duration, remarks io.Writer) (*hearing, error) {
	ctx, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	h := &hearing{line: l}
	err := port.Follow(ctx, l, func(e port.Event) { h.take(e, cancel, d, remarks) })
	switch {
	case err != nil:
		return nil, err
	case h.bytes == 0 && h.problem != nil:
		return nil, h.problem
	case h.bytes == 0:
		return nil, fmt.Errorf("%s is open at %d baud but sent nothing in %v: check that the instrument is on and set to send without being asked, and the plug", l.Path, l.Baud, d)
	}
	return h, nil
}

func (h *hearing) take(e port.Event, cancel func(), d time.Duration, remarks io.Writer) {
	switch {
	case e.Up && !h.wasUp:
		h.wasUp = true
		fmt.Fprintf(remarks, "listening to %s at %d baud for %v\n", h.line.Path, h.line.Baud, d)
	case e.Down != nil && !h.wasUp:
		h.problem = e.Down
		cancel()
	case e.Down != nil:
		h.problem = e.Down
		h.outages++
		fmt.Fprintln(remarks, e.Down)
	case len(e.Bytes) > 0:
		if h.bytes == 0 {
			h.first = e.At
		}
		h.last = e.At
		h.bytes += len(e.Bytes)
		h.sample = append(h.sample, e.Bytes...)
		if n := len(h.sample); n > sampleSize {
			h.sample = append(h.sample[:0], h.sample[n-sampleSize/2:]...)
		}
	}
}

// rate is how many of n things in the sample came in a second; 0 where it
// cannot be told.
func (h *hearing) rate(n uint64) float64 {
	s := h.last.Sub(h.first).Seconds() * float64(len(h.sample)) / float64(h.bytes)
	if s <= 0 {
		return 0
	}
	return float64(n) / s
}

func (h *hearing) proposals() []wire.Proposal {
	all := wire.Propose(h.sample)
	for i, p := range all {
		all[i] = p.WithRate(h.rate(p.Stats.Units))
	}
	return all
}

// pieces are the latest complete lines or frames, as text or in hex.
func (h *hearing) pieces(f wire.Format) (shown []string) {
	ends := "\r\n"
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

type proposalRecord struct {
	wire.Proposal
	InWords string  `json:"in_words"`
	PerS    float64 `json:"readings_per_s"`
}

type hearingRecord struct {
	Port      string           `json:"port"`
	Baud      int              `json:"baud"`
	Seconds   float64          `json:"seconds"`
	Bytes     int              `json:"bytes"`
	Outages   int              `json:"outages"`
	Format    wire.Format      `json:"format"` // of the first proposal; empty where there is none
	Sent      []string         `json:"sent"`   // latest lines, or frames in hex
	Proposals []proposalRecord `json:"proposals"`
}

func (h *hearing) record() hearingRecord {
	r := hearingRecord{
		Port: h.line.Path, Baud: h.line.Baud, Seconds: h.last.Sub(h.first).Seconds(),
		Bytes: h.bytes, Outages: h.outages, Proposals: []proposalRecord{},
	}
	for _, p := range h.proposals() {
		r.Proposals = append(r.Proposals, proposalRecord{p, p.Config.Describe(), h.rate(p.Stats.Readings)})
	}
	if len(r.Proposals) > 0 {
		r.Format = r.Proposals[0].Config.Format
	}
	r.Sent = append([]string{}, h.pieces(r.Format)...)
	return r
}

// write shows what was heard to a person.
func (h *hearing) write(w io.Writer) error {
	r, p := h.record(), printer{w: w}
	p.line("%s at %d baud: %d bytes in %.1f s", r.Port, r.Baud, r.Bytes, r.Seconds)
	p.line("")
	if r.Format == wire.Text {
		p.line("the latest lines:")
	} else {
		p.line("the latest bytes between zeros, in hex:")
	}
	for _, s := range r.Sent {
		p.line("    %s", s)
	}
	p.line("")
	if len(r.Proposals) == 0 {
		p.line("this is neither lines of text with a number nor packed frames: the rate may be wrong, try another --baud")
		return p.err
	}
	p.line("it could be read as")
	for i, x := range r.Proposals {
		p.line("%d. %s", i+1, x.InWords)
		p.line("   that gives %d readings, %.4g a second, and refuses %d", x.Stats.Readings, x.PerS, x.Stats.Rejected)
		for _, why := range x.Reasons {
			p.line("   - %s", why)
		}
		c, err := json.Marshal(x.Config)
		if err != nil {
			return err
		}
		p.line("   as a setting: %s", c)
	}
	p.line("")
	p.line("put a known load on the cell and compare before you rely on it")
	return p.err
}
