package archive

import (
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

// The measurements.
const (
	forceMeasurement = "line_force"
	pullMeasurement  = "pull"
	cellMeasurement  = "cell"
)

// Lines writes readings of one cell as line protocol of InfluxDB.
type Lines struct {
	station, cell string
	prefix        []byte // measurement and tags, up to the fields
	from, to      int64  // the day that it is of, ns UTC
}

// NewLines makes lines of a cell of a station. Both are made fit for tags; an
// empty station is left out.
func NewLines(station, cell string) *Lines { return &Lines{station: Tag(station), cell: Tag(cell)} }

// Append appends the lines of readings, with their forces in newtons, and ends
// each with a new line.
func (l *Lines) Append(out []byte, b trace.Batch, raw []int64) []byte {
	for i, at := range b.T {
		var mark trace.Mark
		if b.Marks != nil {
			mark = b.Marks[i]
		}
		out = l.append(out, at, raw[i], b.F[i], mark)
	}
	return out
}

func (l *Lines) append(out []byte, at, raw int64, newtons float64, mark trace.Mark) []byte {
	if l.prefix == nil || at < l.from || at >= l.to {
		l.turnTo(at)
	}
	out = append(out, l.prefix...)
	out = append(strconv.AppendInt(append(out, "raw="...), raw, 10), 'i')
	if mark&trace.Invalid == 0 && !math.IsNaN(newtons) && !math.IsInf(newtons, 0) {
		out = strconv.AppendFloat(append(out, ",newtons="...), newtons, 'g', -1, 64)
	}
	if mark != 0 {
		out = append(tracefile.AppendMark(append(out, `,mark="`...), mark), '"')
	}
	return append(strconv.AppendInt(append(out, ' '), at, 10), '\n')
}

// turnTo makes the prefix of the day of a time.
func (l *Lines) turnTo(at int64) {
	begin := dayOf(at)
	l.from, l.to = begin.UnixNano(), begin.AddDate(0, 0, 1).UnixNano()
	l.prefix = append(appendSeries(nil, forceMeasurement, l.station, l.cell, at), ' ')
}

func dayOf(at int64) time.Time { return time.Unix(0, at).UTC().Truncate(24 * time.Hour) }

// appendSeries appends a measurement and its tags, in the order that the
// server sorts them in.
func appendSeries(out []byte, measurement, station, cell string, at int64) []byte {
	out = append(append(append(out, measurement...), ",cell="...), escapedTag(cell)...)
	if measurement != cellMeasurement {
		out = dayOf(at).AppendFormat(append(out, ",day="...), time.DateOnly)
	}
	if station != "" {
		out = append(append(out, ",station="...), escapedTag(station)...)
	}
	return out
}

// Tag makes a text fit for a tag: without control characters, without a
// backslash, which a tag cannot end with, and not empty.
func Tag(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\\' || r == unicode.ReplacementChar {
			return '_'
		}
		return r
	}, strings.TrimSpace(name))
}

// escapedTag is a tag as it stands in a line.
func escapedTag(tag string) string { return tagEscapes.Replace(tag) }

var tagEscapes = strings.NewReplacer(",", `\,`, "=", `\=`, " ", `\ `)

// fields collects the fields of a point.
type fields []byte

func (f *fields) key(name string) {
	if len(*f) > 0 {
		*f = append(*f, ',')
	}
	*f = append(append(*f, name...), '=')
}

func (f *fields) integer(name string, v int64) {
	f.key(name)
	*f = append(strconv.AppendInt(*f, v, 10), 'i')
}

// number leaves out what is not a number.
func (f *fields) number(name string, v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return
	}
	f.key(name)
	*f = strconv.AppendFloat(*f, v, 'g', -1, 64)
}

// known leaves out nil, which is not known.
func (f *fields) known(name string, v *float64) {
	if v != nil {
		f.number(name, *v)
	}
}

func (f *fields) text(name, v string) {
	f.key(name)
	*f = append(append(append(*f, '"'), textEscapes.Replace(v)...), '"')
}

var textEscapes = strings.NewReplacer(`\`, `\\`, `"`, `\"`)

// mostText is how many bytes of text one field may hold, at most; the server's
// own bound is 64 KiB.
const mostText = 60_000

// document writes a text in as many fields as it needs.
func (f *fields) document(name, v string) {
	part := func(i int) string {
		if i == 1 {
			return name
		}
		return name + "_" + strconv.Itoa(i)
	}
	n := 1
	for ; len(v) > mostText; n++ {
		cut := mostText
		for cut > 0 && v[cut]&0xC0 == 0x80 { // not within a letter
			cut--
		}
		f.text(part(n), v[:cut])
		v = v[cut:]
	}
	f.text(part(n), v)
	f.integer(name+"_parts", int64(n))
}
