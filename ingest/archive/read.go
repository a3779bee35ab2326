package archive

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/influxdata/influxdb-client-go/v2/api/query"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// Cell is a cell in an archive.
type Cell struct {
	Station string
	Name    string      // there; the cell itself may have been renamed since
	Known   derive.Cell // as it was pushed last, with its calibrations; ID, Version and Line are of no use here

	described description
}

// Cells gives all cells of an archive, by station and name.
func (s *Server) Cells(ctx context.Context) ([]Cell, error) {
	parts := map[[2]string]map[string]any{}
	err := s.ask(ctx, s.from(cellMeasurement, always, never)+` |> last()`, func(r *query.FluxRecord) error {
		key := [2]string{tagOf(r, "station"), tagOf(r, "cell")}
		if parts[key] == nil {
			parts[key] = map[string]any{}
		}
		parts[key][r.Field()] = r.Value()
		return nil
	})
	if err != nil {
		return nil, err
	}
	var all []Cell
	for key, p := range parts {
		c := Cell{Station: key[0], Name: key[1]}
		if err := decodeDocument(p, &c.described); err != nil {
			return nil, words.Error("archive.error.unread", s.settings.URL, c.Name, c.Station, err)
		}
		if c.Known, err = c.described.known(); err != nil {
			return nil, words.Error("archive.error.unused", s.settings.URL, c.Name, c.Station, err)
		}
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b Cell) int {
		return strings.Compare(a.Station+"\x00"+a.Name, b.Station+"\x00"+b.Name)
	})
	return all, nil
}

// decodeDocument puts the parts of a document together.
func decodeDocument(values map[string]any, v any) error {
	n, ok := values["doc_parts"].(int64)
	if !ok || n < 1 {
		return words.Error("archive.error.away")
	}
	var doc strings.Builder
	for i := int64(1); i <= n; i++ {
		name := "doc"
		if i > 1 {
			name = fmt.Sprintf("doc_%d", i)
		}
		part, ok := values[name].(string)
		if !ok {
			return words.Error("archive.error.part", i)
		}
		doc.WriteString(part)
	}
	return json.Unmarshal([]byte(doc.String()), v)
}

// window is how much time one question about readings covers: the server
// holds the answer to one in its memory.
const window = time.Hour

// Readings gives the readings of a cell from time from up to, not including,
// to, in order of time, with their forces by the calibration that the archive
// knows. The batch is overwritten by the next one.
func (s *Server) Readings(ctx context.Context, c Cell, from, to int64, yield func(b trace.Batch, raw []int64) error) error {
	days, err := s.days(ctx, c)
	if err != nil {
		return err
	}
	for _, day := range days {
		for begin := day; begin.Before(day.AddDate(0, 0, 1)); begin = begin.Add(window) {
			first, end := max(from, begin.UnixNano()), min(to, begin.Add(window).UnixNano())
			if first >= end {
				continue
			}
			if err := s.readWindow(ctx, c, day, first, end, yield); err != nil {
				return err
			}
		}
	}
	return nil
}

// days are the days of which the archive has readings of a cell, in order.
func (s *Server) days(ctx context.Context, c Cell) (days []time.Time, err error) {
	err = s.ask(ctx, s.from(forceMeasurement, always, never)+ofCell(c)+field("raw")+` |> first()`,
		func(r *query.FluxRecord) error {
			day, err := time.Parse(time.DateOnly, tagOf(r, "day"))
			days = append(days, day)
			return err
		})
	slices.SortFunc(days, time.Time.Compare)
	return days, err
}

// readWindow gives the readings of a stretch of a day in portions.
func (s *Server) readWindow(ctx context.Context, c Cell, day time.Time, from, to int64, yield func(trace.Batch, []int64) error) error {
	stretch := s.from(forceMeasurement, from, to) + ofCell(c) +
		fmt.Sprintf(` |> filter(fn: (r) => r.day == %s)`, literal(day.Format(time.DateOnly)))
	marks := map[int64]trace.Mark{}
	err := s.ask(ctx, stretch+field("mark")+` |> keep(columns: ["_time", "_value"])`, func(r *query.FluxRecord) error {
		words, _ := r.Value().(string)
		marks[r.Time().UnixNano()] = tracefile.ReadMark([]byte(words))
		return nil
	})
	if err != nil {
		return err
	}
	g := gathered{cell: c, from: from, to: to, marks: marks, yield: yield}
	err = s.ask(ctx, stretch+field("raw")+` |> keep(columns: ["_time", "_value"])`, g.add)
	if err != nil {
		return err
	}
	return g.flush()
}

// gathered makes batches of single readings.
type gathered struct {
	cell     Cell
	from, to int64
	marks    map[int64]trace.Mark // of this window; empty: all ordinary
	yield    func(trace.Batch, []int64) error
	batch    trace.Batch
	raw      []int64
}

// ErrForeign says that a field is not of the type that this program writes.
var ErrForeign = words.Kind("archive.error.foreign")

func (g *gathered) add(r *query.FluxRecord) error {
	raw, ok := r.Value().(int64)
	if !ok {
		return words.Error("archive.error.raw", g.cell.Name, r.Time().Format(time.RFC3339Nano), ErrForeign)
	}
	at := r.Time().UnixNano()
	if at < g.from || at >= g.to {
		return nil // version 1.8 counts the end of a range in
	}
	g.raw = append(g.raw, raw)
	g.batch.T = append(g.batch.T, at)
	if len(g.marks) > 0 {
		g.batch.Marks = append(g.batch.Marks, g.marks[at])
	}
	if len(g.raw) < readAtOnce {
		return nil
	}
	return g.flush()
}

func (g *gathered) flush() error {
	if len(g.raw) == 0 {
		return nil
	}
	g.batch.F = g.cell.Known.Forces(g.batch.F[:0], g.batch.T, g.raw)
	err := g.yield(g.batch, g.raw)
	g.raw = g.raw[:0]
	g.batch.T, g.batch.Marks = g.batch.T[:0], g.batch.Marks[:0]
	if len(g.marks) == 0 {
		g.batch.Marks = nil
	}
	return err
}

// Pull is a pull in an archive.
type Pull struct {
	store.Pull
	TestDay string // date and name of its test day; empty: none
}

// Pulls gives the pulls of a cell that began from time from up to, not
// including, to, in order of time.
func (s *Server) Pulls(ctx context.Context, c Cell, from, to int64) ([]Pull, error) {
	parts := map[int64]map[string]any{}
	err := s.ask(ctx, s.from(pullMeasurement, always, never)+ofCell(c)+
		` |> filter(fn: (r) => r._field =~ /^(doc(_[0-9]+|_parts)?|test_day)$/)`, func(r *query.FluxRecord) error {
		at := r.Time().UnixNano()
		if parts[at] == nil {
			parts[at] = map[string]any{}
		}
		parts[at][r.Field()] = r.Value()
		return nil
	})
	if err != nil {
		return nil, err
	}
	var all []Pull
	for at, p := range parts {
		var one Pull
		if err := decodeDocument(p, &one.Pull); err != nil {
			return nil, words.Error("archive.error.pull", c.Name, time.Unix(0, at).UTC().Format(time.RFC3339Nano), err)
		}
		one.TestDay, _ = p["test_day"].(string)
		one.Settled = true
		if one.Found.Start >= from && one.Found.Start < to {
			all = append(all, one)
		}
	}
	slices.SortFunc(all, func(a, b Pull) int { return int(min(max(a.Found.Start-b.Found.Start, -1), 1)) })
	return all, nil
}

// ask asks a question in Flux and gives each row of the answer to use. Any
// error is a *Fault, that of use, or that of ctx.
func (s *Server) ask(ctx context.Context, question string, use func(*query.FluxRecord) error) error {
	within, cancel := context.WithCancel(ctx)
	defer cancel() // ends an answer that nobody wants to hear to its end
	rows, err := s.query.Query(within, question)
	if err != nil {
		return s.unanswered(ctx, err)
	}
	for rows.Next() {
		if err := use(rows.Record()); err != nil {
			cancel()
			_ = rows.Close()
			return err
		}
	}
	if err := rows.Err(); err != nil && !errors.Is(err, io.EOF) {
		return s.unanswered(ctx, err)
	}
	return nil
}

func (s *Server) unanswered(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	f := s.fault(err)
	if f.Kind == Refused {
		f.Says = words.Say("archive.fault.noanswer", s.settings.URL, s.plain(err.Error()))
	}
	return f
}

// The times of everything: what the store keeps lies between them.
const (
	always = 0
	never  = int64(4_600_000_000e9) // 2115
)

// from begins a question about a measurement. The range comes first, since the
// server wants it before any filter.
func (s *Server) from(measurement string, first, end int64) string {
	return fmt.Sprintf(`from(bucket: %s) |> range(start: %s, stop: %s)`, literal(s.settings.Bucket), moment(first), moment(end)) + ofMeasurement(measurement)
}
