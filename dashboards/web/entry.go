package web

import (
	"cmp"
	"errors"
	"html"
	"html/template"
	"maps"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// entry is one field of a form: what was typed into it, and what is wrong
// with that.
type entry struct {
	Name, Label, Hint string
	Value, Wrong      string
	HintOf            string       // name of the text of a hint with examples of forces
	Like              []unit.Force // the examples in that hint, one for each %s of it
	Choices           []option     // a list to choose from, where there are any
	Taps              bool         // the list stands open, each choice one tap
	First             bool         // of those that are wrong: the page opens there
	Ask               string       // where the script asks what a choice fills in, its value at the end; empty: each option has it
	Suggest           []string     // words that are often typed
	Long              bool         // room for a sentence
	Area              bool         // room for many sentences
	Takes             string       // kinds of files that a file field takes, as HTML's accept has it; empty for pictures, several at once
	Most              int          // characters of a field with room for many sentences; 0 for 20,000
	Reads             string       // of a field with room for many sentences: what the button says by which the script reads a file into it; empty for none
	Kind              string       // of the input: "file" or "password"; empty for text
	Fill              string       // what the browser may fill in by itself, as HTML's autocomplete has it; empty for nothing
}

// option is one choice of a list.
type option struct {
	Value, Label string
	// Fills are the fields that the script fills in when this is chosen. A
	// page without its script does the same when the form is sent.
	Fills map[string]string
}

// described is what ties the input of an entry to what is said beside it.
func described(e entry) template.HTMLAttr {
	if e.Wrong == "" && e.Hint == "" {
		return ""
	}
	tie := ` aria-describedby="` + html.EscapeString(e.Name) + `-say"`
	if e.Wrong != "" {
		tie += ` aria-invalid="true"`
	}
	if e.First && !e.Taps {
		tie += ` autofocus`
	}
	return template.HTMLAttr(tie) //nolint:gosec // the name is escaped
}

// group is the fields of a form that belong together.
type group struct {
	Title  string
	More   bool // folded away until something in it was filled in
	Fields []entry
}

// Open says that a folded group has something to see.
func (g group) Open() bool {
	return !g.More || slices.ContainsFunc(g.Fields, func(e entry) bool { return e.Wrong != "" || e.Value != "" && e.Choices == nil })
}

// wrongField is one thing that is wrong in a form, and where; of what is wrong
// beside no field that is shown, only what it is.
type wrongField struct{ Field, Of, Say string }

// wrongs lists what is wrong in a form from top to bottom. The page opens at the
// first field of them.
func (s *sheet) wrongs(groups []group) (all []wrongField) {
	left := maps.Clone(s.wrong)
	for _, g := range groups {
		for i := range g.Fields {
			e := &g.Fields[i]
			if e.Wrong == "" {
				continue
			}
			of := e.Label
			if g.Title != "" {
				of = text("field.of", g.Title, e.Label)
			}
			e.First = len(all) == 0
			all = append(all, wrongField{e.Name, of, e.Wrong})
			delete(left, e.Name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(left)) {
		all = append(all, wrongField{Say: left[name]})
	}
	return all
}

// sheet is a form as it was filled in.
type sheet struct {
	q      url.Values
	unit   unit.ForceUnit    // of examples; empty: the one that is shown to who has chosen none
	filled map[string]string // from the register, by field
	wrong  map[string]string // by field
}

func newSheet(q url.Values) *sheet {
	return &sheet{q: q, filled: map[string]string{}, wrong: map[string]string{}}
}

// sent tells whether the form was filled in at all.
func (s *sheet) sent() bool {
	for name := range s.q {
		if s.typed(name) != "" {
			return true
		}
	}
	return false
}

// typed is what stands in a field.
func (s *sheet) typed(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(s.q.Get(name), "\r\n", "\n")) // as forms send the ends of lines
}

// text is what stands in a field, or what the register has for it.
func (s *sheet) text(name string) string {
	if t := s.typed(name); t != "" {
		return t
	}
	return s.filled[name]
}

// listed is what stands in a field, with commas between.
func (s *sheet) listed(name string) (all []string) {
	for t := range strings.SplitSeq(s.text(name), ",") {
		if t = strings.TrimSpace(t); t != "" {
			all = append(all, t)
		}
	}
	return all
}

// fill offers what the register has for fields that are left empty.
func (s *sheet) fill(values map[string]string) {
	for name, v := range values {
		s.filled[name] = v
	}
}

func (s *sheet) refuse(name, say string) {
	if s.wrong[name] == "" {
		s.wrong[name] = say
	}
}

// good tells whether nothing was refused.
func (s *sheet) good() bool { return len(s.wrong) == 0 }

// all lists what was refused.
func (s *sheet) all() (out []string) {
	for _, name := range slices.Sorted(maps.Keys(s.wrong)) {
		out = append(out, s.wrong[name])
	}
	return out
}

// set shows what was typed in fields, and what is wrong with it.
func (s *sheet) set(fields ...entry) []entry {
	for i := range fields {
		e := &fields[i]
		e.Wrong = s.wrong[e.Name]
		if e.Kind != "password" { // which is never sent back
			e.Value = s.text(e.Name)
		}
		if len(e.Like) > 0 {
			e.Hint = text(e.HintOf, s.like(e.Like)...)
		}
	}
	return fields
}

// in says in which unit examples of forces are given.
func (s *sheet) in(u unit.ForceUnit) *sheet {
	s.unit = u
	return s
}

// like gives examples of forces as they may be typed.
func (s *sheet) like(all []unit.Force) (out []any) {
	for _, f := range all {
		out = append(out, likeForce(f, s.unit))
	}
	return out
}

// likeForce is an example of a force, in round numbers of a unit.
func likeForce(f unit.Force, u unit.ForceUnit) string {
	u = cmp.Or(u, unit.DefaultShown)
	v := f.In(u)
	if v > 0 {
		step := math.Pow(10, math.Floor(math.Log10(v))-1)
		v = math.Round(math.Round(v/step)*step*1e6) / 1e6
	}
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + string(u)
}

// least is the smallest value that a quantity may have.
type least int

const (
	any0     least = iota // whatever the number
	notBelow              // zero or more
	above                 // more than zero
)

// quantity reads a field that holds a quantity with its unit. It is false
// where the field is empty, or refused.
func quantity[T ~float64](s *sheet, name, what string, parse func(string) (T, error), low least) (v T, given bool) {
	t := s.text(name)
	if t == "" {
		return 0, false
	}
	v, err := parse(t)
	switch {
	case err != nil:
		s.refuse(name, sentence(err.Error()))
	case low != any0 && v < 0:
		s.refuse(name, text("field.below", quantityWords(what)))
	case low == above && v == 0:
		s.refuse(name, text("field.zero", quantityWords(what)))
	default:
		return v, true
	}
	return 0, false
}

// quantityWords is what a quantity is called; one that has no text of its own is
// called as the caller says.
func quantityWords(what string) string {
	if words.Known("quantity." + what) {
		return text("quantity." + what)
	}
	return what
}

// needed is like quantity, for a field that must be filled in.
func needed[T ~float64](s *sheet, name, what, example string, parse func(string) (T, error), low least) T {
	v, given := quantity(s, name, what, parse, low)
	if !given {
		s.refuse(name, text("field.empty", quantityWords(what), example))
	}
	return v
}

// plain reads a number without a unit.
func plain(t string) (float64, error) {
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || v-v != 0 {
		return 0, errors.New(text("field.plain", t))
	}
	return v, nil
}

// count reads a whole number from low to high; empty is none.
func (s *sheet) count(name string, low, high, none int) int {
	t := s.text(name)
	if t == "" {
		return none
	}
	n, err := strconv.Atoi(t)
	if err != nil || n < low || n > high {
		s.refuse(name, text("field.count", t, low, high))
		return none
	}
	return n
}

// sentence begins with a capital and ends with a full stop.
func sentence(say string) string {
	if say == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(say)
	say = string(unicode.ToUpper(first)) + say[n:]
	if !strings.HasSuffix(say, ".") {
		say += "."
	}
	return say
}
