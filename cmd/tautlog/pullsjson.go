package main

import (
	"bufio"
	"encoding/json"
	"io"
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

// traceRecord is what JSON says of the trace as a whole.
type traceRecord = trace.Summary

// pullsRecord is the JSON document of "tautlog pulls" without the cycles.
type pullsRecord struct {
	which                // one, where there are several
	Trace  traceRecord   `json:"trace"`
	Pulls  []pullRecord  `json:"pulls"`
	Spikes []spikeRecord `json:"spikes"`
	Zero   *zeroRecord   `json:"zero"` // null where the line was never slack

	Histogram  map[string]any  `json:"histogram,omitempty"`
	Comparison *overlaidRecord `json:"comparison,omitempty"`
}

// pullRecord is a pull, and which attempt at which bogging it was; both are
// left out for a proof pull.
type pullRecord struct {
	pull.Record
	Bogging  int `json:"bogging,omitempty"`
	Attempt  int `json:"attempt,omitempty"`
	Attempts int `json:"attempts,omitempty"`
}

type spikeRecord struct {
	At      float64 `json:"at_s"`
	Reading float64 `json:"reading_N"`
}

// zeroRecord is where the zero of the cell was through the trace.
type zeroRecord struct {
	First float64 `json:"first_N"`
	Last  float64 `json:"last_N"`
	Low   float64 `json:"low_N"`
	High  float64 `json:"high_N"`
}

func pullsDocument(found *survey.Found) pullsRecord {
	r := pullsRecord{Trace: found.Summary, Pulls: make([]pullRecord, 0, len(found.Pulls)), Spikes: make([]spikeRecord, 0, len(found.Spikes))}
	attempts := pull.Attempts(found.Pulls, pull.SameBogging)
	for i, p := range found.Pulls {
		a := attempts[i]
		r.Pulls = append(r.Pulls, pullRecord{p.Record(found.First), a.Bogging, a.N, a.Of})
	}
	for _, s := range found.Spikes {
		r.Spikes = append(r.Spikes, spikeRecord{float64(s.At-found.First) / 1e9, float64(s.Reading)})
	}
	if z := found.Zero; z.Seen {
		r.Zero = &zeroRecord{float64(z.First), float64(z.Last), float64(z.Low), float64(z.High)}
	}
	return r
}

// document is all that is told of a trace but the cycles.
func (t *told) document() pullsRecord {
	r := pullsDocument(t.Found)
	r.which = t.which
	if t.histogram != nil {
		r.Histogram = histogramRecord(t.histogram)
	}
	if t.comparison != nil {
		k := t.comparison.record()
		r.Comparison = &k
	}
	return r
}

// writePullsJSON prints one JSON document.
func writePullsJSON(w io.Writer, t *told) error {
	out := bufio.NewWriterSize(w, 64<<10)
	if err := t.writeJSON(out); err != nil {
		return err
	}
	out.WriteString("\n")
	return out.Flush()
}

// writeJSON writes what is told of a trace. The cycles, which may be millions,
// are written as they are read; where they were not asked for there is no key.
func (t *told) writeJSON(out *bufio.Writer) error {
	text, err := json.MarshalIndent(t.document(), "", "  ")
	if err != nil {
		return err
	}
	out.Write(text[:len(text)-len("\n}")])
	if t.cycles != nil {
		out.WriteString(",\n  \"cycles\": [")
		if err := writeCycles(out, t.cycles); err != nil {
			return err
		}
		out.WriteString("]")
	}
	_, err = out.WriteString("\n}")
	return err
}

func writeCycles(out *bufio.Writer, cycles *tracefile.Cycles) error {
	before, after := "\n    ", ""
	var b []byte
	err := cycles.Each(func(y trace.Cycle) error {
		b = append(append(b[:0], before...), `{"range_N": `...)
		b = append(strconv.AppendFloat(b, y.Range, 'g', -1, 64), `, "mean_N": `...)
		b = append(strconv.AppendFloat(b, y.Mean, 'g', -1, 64), `, "count": `...)
		b = append(strconv.AppendFloat(b, y.Count, 'g', -1, 64), '}')
		before, after = ",\n    ", "\n  "
		_, err := out.Write(b)
		return err
	})
	out.WriteString(after)
	return err
}
