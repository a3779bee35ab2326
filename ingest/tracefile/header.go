package tracefile

import (
	"bytes"
	"slices"
	"strings"

	"tautlog/calc/unit"
)

// Options say how to read a trace that does not name its columns as expected.
// The zero value looks for the known names.
type Options struct {
	TimeColumn   string         // name of the time column; "" looks for t_s, time_s, time
	ForceColumn  string         // name of the force column; "" looks for force_N and the like
	Unit         unit.ForceUnit // unit of the force column, where its name does not say it
	DecimalComma bool           // 12,5 means twelve and a half
}

func (o Options) mark() byte {
	if o.DecimalComma {
		return ','
	}
	return '.'
}

// layout is what the header says of the lines below it.
type layout struct {
	separator byte
	mark      byte // of decimals
	quoted    bool // numbers may be quoted to hide a mark that is the separator too
	columns   int
	time      int // place of the time column, from 0
	force     int
	marks     int  // -1: no such column
	dates     bool // time is RFC 3339, else seconds
	unit      unit.ForceUnit
	newtons   float64 // size of the unit
	names     []string
	comments  []string // above the header
}

const namesOfTime = "t_s, time_s, time"
const namesOfForce = "force_N, force_kN, force_kgf, force_lbf, force_t"

// readHeader finds the columns in the header line, which is line number n.
// Of the separators that occur, the first is taken under which the wanted
// columns are there.
func readHeader(header []byte, n int, o Options) (layout, *Error) {
	var first *Error
	most := 0
	for _, separator := range []byte("\t;,") {
		names, closed := headerNames(header, separator)
		if !closed || len(names) < 2 {
			continue
		}
		l := layout{separator: separator, mark: o.mark(), quoted: separator == o.mark(), columns: len(names), names: names}
		err := l.choose(n, o)
		if err == nil {
			return l, nil
		}
		if len(names) > most {
			first, most = err, len(names)
		}
	}
	if first != nil {
		return layout{}, first
	}
	return layout{}, fault(ErrNoColumn, n,
		"begin the file with a line of column names, such as t_s,force_N, with a comma, semicolon or tab between them",
		"%s is no header with a time and a force column", shown(header))
}

func headerNames(header []byte, separator byte) (names []string, closed bool) {
	fields, closed := split(nil, header, separator)
	for _, f := range fields {
		names = append(names, strings.TrimSpace(string(f)))
	}
	return names, closed
}

func (l *layout) choose(line int, o Options) *Error {
	var err *Error
	if l.time, err = l.chooseTime(line, o); err != nil {
		return err
	}
	if l.force, l.unit, err = l.chooseForce(line, o); err != nil {
		return err
	}
	l.newtons = float64(l.unit.Newtons())
	l.marks = -1
	if found := l.where(func(name string) bool { return name == markColumn }); len(found) == 1 && found[0] != l.time && found[0] != l.force {
		l.marks = found[0]
	}
	return nil
}

func (l *layout) chooseTime(line int, o Options) (int, *Error) {
	if o.TimeColumn != "" {
		return l.named(line, o.TimeColumn, "--time-column")
	}
	found := l.where(func(name string) bool { return slices.Contains(strings.Split(namesOfTime, ", "), name) })
	if len(found) == 0 {
		return 0, fault(ErrNoColumn, line, "call it one of "+namesOfTime,
			"no time column among %s", list(l.names)).flag("name it with --time-column")
	}
	return l.only(line, found, "time", "--time-column")
}

func (l *layout) chooseForce(line int, o Options) (int, unit.ForceUnit, *Error) {
	at, err := l.findForce(line, o)
	if err != nil {
		return 0, "", err
	}
	u, err := unitOf(line, l.names[at], o.Unit)
	return at, u, err
}

func (l *layout) findForce(line int, o Options) (int, *Error) {
	if o.ForceColumn != "" {
		return l.named(line, o.ForceColumn, "--force-column")
	}
	if found := l.where(hasUnit); len(found) > 0 {
		return l.only(line, found, "force", "--force-column")
	}
	if found := l.where(func(name string) bool { return name == "force" }); len(found) > 0 {
		return l.only(line, found, "force", "--force-column")
	}
	if found := l.where(func(name string) bool { return strings.HasPrefix(name, "force_") }); len(found) > 0 {
		if o.Unit != "" {
			return l.only(line, found, "force", "--force-column")
		}
		return 0, fault(ErrUnit, line, "call the column one of "+namesOfForce,
			"the name %s ends in no known unit of force", l.names[found[0]]).flag("give --force-column and --unit")
	}
	return 0, fault(ErrNoColumn, line, "call it one of "+namesOfForce,
		"no force column among %s", list(l.names)).flag("give --force-column and --unit")
}

// unitOf is the unit in the column's name or the one that was given; they
// must not contradict each other.
func unitOf(line int, name string, given unit.ForceUnit) (unit.ForceUnit, *Error) {
	named, err := unit.ParseForceUnit(strings.TrimPrefix(name, "force_"))
	switch {
	case err != nil && given == "":
		return "", fault(ErrNoUnit, line, "put it in the name as in force_kN",
			"the column %s does not say its unit of force", name).flag("add --unit with one of N, kN, kgf, lbf, t")
	case err != nil || !hasUnit(name):
		return given, nil
	case given != "" && given != named:
		return "", fault(ErrUnit, line, "correct the name of the column",
			"the column %s is in %s by its name, and was said to be in %s", name, named, given).flag("leave out --unit")
	}
	return named, nil
}

func hasUnit(name string) bool { return slices.Contains(strings.Split(namesOfForce, ", "), name) }

func (l *layout) where(wanted func(string) bool) (found []int) {
	for i, name := range l.names {
		if wanted(name) {
			found = append(found, i)
		}
	}
	return found
}

func (l *layout) named(line int, name, flag string) (int, *Error) {
	found := l.where(func(n string) bool { return n == name })
	if len(found) == 0 {
		return 0, fault(ErrNoColumn, line, "correct the name of the column", "no column %s among %s", name, list(l.names)).flag("give " + flag + " one of these names")
	}
	return l.only(line, found, name, flag)
}

// only refuses more than one column that would do.
func (l *layout) only(line int, found []int, what, flag string) (int, *Error) {
	if len(found) == 1 {
		return found[0], nil
	}
	names := make([]string, len(found))
	for i, at := range found {
		names[i] = l.names[at]
	}
	if same := slices.Compact(slices.Clone(names)); len(same) == 1 {
		return 0, fault(ErrDuplicate, line, "give each column a name of its own", "%d columns are named %s", len(found), names[0])
	}
	return 0, fault(ErrAmbiguous, line, "keep one of them",
		"the columns %s could each be the %s", strings.Join(names, " and "), what).flag("choose one with " + flag + " " + names[0])
}

// split cuts a line into its fields. Quotes around a field are taken off, with
// blanks outside of them; closed is false where a quote has no end.
func split(fields [][]byte, line []byte, separator byte) (_ [][]byte, closed bool) {
	for {
		var field []byte
		field, line, closed = cutField(line, separator)
		fields = append(fields, field)
		if !closed || line == nil {
			return fields, closed
		}
	}
}

// cutField takes the first field off a line; rest is nil behind the last.
func cutField(line []byte, separator byte) (field, rest []byte, closed bool) {
	if start := bytes.TrimLeft(line, " "); len(start) > 0 && start[0] == '"' {
		return cutQuoted(start[1:], separator)
	}
	end := bytes.IndexByte(line, separator)
	if end < 0 {
		return bytes.Trim(line, " \t"), nil, true
	}
	return bytes.Trim(line[:end], " "), line[end+1:], true
}

// cutQuoted does the same behind an opening quote. A doubled quote stands for
// a quote in the field.
func cutQuoted(line []byte, separator byte) (field, rest []byte, closed bool) {
	i := 0
	for {
		n := bytes.IndexByte(line[i:], '"')
		if n < 0 {
			return line, nil, false
		}
		i += n + 1
		if i == len(line) || line[i] != '"' {
			break
		}
		i++
	}
	field = bytes.Trim(line[:i-1], " ")
	if bytes.IndexByte(field, '"') >= 0 {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	after := bytes.TrimLeft(line[i:], " ")
	if len(after) == 0 {
		return field, nil, true
	}
	if after[0] != separator {
		return field, nil, false
	}
	return field, after[1:], true
}
