package main

import (
	"encoding/json"
	"io"

	"tautlog/ingest/listen"
	"tautlog/ingest/wire"
)

type hearingRecord struct {
	Port      string            `json:"port"`
	Baud      int               `json:"baud"`
	Frame     string            `json:"frame,omitempty"` // 8N1 when left out
	Seconds   float64           `json:"seconds"`
	Bytes     int               `json:"bytes"`
	Outages   int               `json:"outages"`
	Format    wire.Format       `json:"format"` // of the first proposal; empty where there is none
	Sent      []string          `json:"sent"`   // latest lines, or frames in hex
	Proposals []listen.Proposal `json:"proposals"`
}

func recordHearing(h *listen.Hearing) hearingRecord {
	r := hearingRecord{
		Port: h.Line.Path, Baud: h.Line.Baud, Frame: string(h.Line.Frame), Seconds: h.Seconds(),
		Bytes: h.Bytes, Outages: h.Outages, Proposals: append([]listen.Proposal{}, h.Proposals()...),
	}
	if len(r.Proposals) > 0 {
		r.Format = r.Proposals[0].Config.Format
	}
	r.Sent = append([]string{}, h.Sent(r.Format)...)
	return r
}

// writeHearing shows what was heard to a person.
func writeHearing(w io.Writer, r hearingRecord) error {
	p := printer{w: w}
	p.line("%s at %d baud%s: %d bytes in %.1f s", r.Port, r.Baud, framed(r.Frame), r.Bytes, r.Seconds)
	p.line("")
	switch r.Format {
	case wire.Text:
		p.line("the latest lines:")
	case wire.Modbus:
		p.line("the latest bytes, in hex:")
	default:
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

func framed(frame string) string {
	if frame == "" {
		return ""
	}
	return ", " + frame
}
