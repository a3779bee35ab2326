package wire

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// minSteps is how many steps from line to line a count or a tick must show.
const minSteps = 3

// table is a sample of text, parted into the fields of its usual lines.
type table struct {
	base    TextConfig // how lines are parted and numbers written
	sample  []byte     // without parity
	raw     []byte     // as it came
	why     []string   // what speaks for the base
	lines   int        // complete lines
	fields  int        // that most of them have
	columns []column
	usual   int      // lines with that many fields
	odd     []string // the words of the other lines
}

// column is what a field holds, down the lines.
type column struct {
	numbers  []float64
	decimals int
	whole    bool
	fraction int      // digits behind the decimal sign if all lines agree, else -1
	unit     string   // as written at or behind the number
	united   int      // numbers with that unit
	words    []string // what stood there instead of a number, each once
}

// tabulate parts the complete lines of a sample. What comes before the first
// line end may be half a line and is left out, as a decoder does.
func tabulate(sample []byte, base TextConfig) *table {
	t := &table{sample: sample, raw: sample, base: base}
	parting, notation := newParting(base), base.notation()
	var spans [maxColumn]span
	var parted [][][]byte
	frequency := map[int]int{}
	for _, l := range wholeLines(sample) {
		n := parting.split(&spans, l)
		if n == 0 || n > maxColumn {
			continue
		}
		var fields [][]byte
		for _, s := range spans[:n] {
			fields = append(fields, l[s.from:s.to])
		}
		parted = append(parted, fields)
		frequency[n]++
	}
	t.lines = len(parted)
	for n, f := range frequency {
		if f > t.usual || f == t.usual && n > t.fields {
			t.fields, t.usual = n, f
		}
	}
	for _, fields := range parted {
		if len(fields) != t.fields && len(t.odd) < maxColumn {
			t.odd = append(t.odd, string(bytes.Join(fields, []byte(" "))))
		}
	}
	t.columns = make([]column, t.fields)
	for c := range t.columns {
		t.columns[c] = readColumn(parted, c, t.fields, notation)
	}
	return t
}

// wholeLines are the lines of a sample without half of one at either end, as
// a decoder takes them.
func wholeLines(sample []byte) [][]byte {
	ends := func(c byte) bool { return c == '\r' || c == '\n' || c == endOfText }
	lines := bytes.FieldsFunc(sample, func(r rune) bool { return r < 0x80 && ends(byte(r)) })
	if len(lines) > 0 && !ends(sample[0]) && sample[0] != startOfText {
		lines = lines[1:]
	}
	if n := len(lines); n > 0 && !ends(sample[len(sample)-1]) {
		lines = lines[:n-1]
	}
	whole := lines[:0]
	for _, l := range lines {
		if i := bytes.LastIndexByte(l, startOfText); i > 0 {
			l = l[i:]
		} else if i < 0 && bytes.IndexByte(sample, startOfText) >= 0 && len(trimLeft(l)) <= 2 {
			continue // a checksum behind the end of text
		}
		whole = append(whole, l)
	}
	return whole
}

func readColumn(parted [][][]byte, c, fields int, t notation) column {
	k := column{whole: true, fraction: -1}
	for _, line := range parted {
		if len(line) != fields {
			continue
		}
		v, ok := t.scan(line[c])
		if !ok || len(v.tail) > 0 && !isUnit(v.tail) {
			if w := string(line[c]); !slices.Contains(k.words, w) && len(k.words) < 8 {
				k.words = append(k.words, w)
			}
			continue
		}
		if len(k.numbers) == 0 {
			k.fraction = v.decimals
		} else if v.decimals != k.fraction {
			k.fraction = -1
		}
		k.numbers = append(k.numbers, v.value())
		k.decimals = max(k.decimals, v.decimals)
		k.whole = k.whole && v.decimals == 0 && !v.rounds && v.mantissa >= 0 && len(v.tail) == 0
		if u := unitIn(v.tail, line, c+1); u != nil {
			k.united++
			k.unit = string(u)
		}
	}
	return k
}

// unitIn is the unit in the tail of a number or in the field behind it, nil
// where there is none.
func unitIn(tail []byte, line [][]byte, next int) []byte {
	if len(tail) > 0 {
		return tail
	}
	if next < len(line) && isUnit(line[next]) {
		return line[next]
	}
	return nil
}

// decimalComma reports whether commas could be decimal signs: some number has
// one, always with the same number of digits behind it, and no point is about.
func (t *table) decimalComma() bool {
	seen := false
	for _, k := range t.columns {
		if k.decimals > 0 {
			if k.fraction < 0 {
				return false
			}
			seen = true
		}
	}
	return seen && !bytes.Contains(t.sample, []byte("."))
}

// counts reports whether a column is a count of the lines: whole numbers that
// rise by one, but for a few steps.
func (k column) counts() bool {
	ones := 0
	for i := 1; i < len(k.numbers); i++ {
		if k.numbers[i]-k.numbers[i-1] == 1 {
			ones++
		}
	}
	return k.whole && ones >= minSteps && ones*10 >= (len(k.numbers)-1)*9
}

// ticks reports whether a column is a time: never negative, always rising in
// nearly the same steps, and gives the usual step.
func (k column) ticks() (step float64, ok bool) {
	if len(k.numbers) <= minSteps || k.numbers[0] < 0 || k.unit != "" {
		return 0, false
	}
	steps := make([]float64, 0, len(k.numbers))
	for i := 1; i < len(k.numbers); i++ {
		steps = append(steps, k.numbers[i]-k.numbers[i-1])
	}
	sorted := slices.Sorted(slices.Values(steps))
	step = sorted[len(sorted)/2]
	even := 0
	for _, s := range steps {
		if s > 0 && math.Abs(s-step) <= step/2 {
			even++
		}
	}
	return step, step > 0 && even*10 >= len(steps)*9
}

// roles finds the count, the tick and the readings among the columns.
func (t *table) roles() (seq, tick int, step float64, readings []int) {
	for c, k := range t.columns {
		if len(k.numbers)*2 <= t.usual {
			continue
		}
		if s, ok := k.ticks(); ok && (!k.counts() || seq > 0) && tick == 0 {
			tick, step = c+1, s
		} else if k.counts() && seq == 0 {
			seq = c + 1
		} else {
			readings = append(readings, c+1)
		}
	}
	if len(readings) == 0 { // something that rises steadily must be the reading
		if last := max(seq, tick); last > 0 {
			readings = []int{last}
			if seq == last {
				seq = 0
			} else {
				tick, step = 0, 0
			}
		}
	}
	slices.SortStableFunc(readings, func(a, b int) int {
		return t.columns[b-1].promise() - t.columns[a-1].promise()
	})
	return seq, tick, step, readings
}

// promise is how much a column of numbers looks like a reading.
func (k column) promise() (p int) {
	if k.unit != "" {
		p += 4
	}
	if k.decimals > 0 {
		p += 2
	}
	if slices.Max(k.numbers) > slices.Min(k.numbers) {
		p++
	}
	return p
}

// proposals are the ways of reading the table, one for each column that could
// be the reading.
func (t *table) proposals() (all []Proposal) {
	seq, tick, step, readings := t.roles()
	for _, c := range readings[:min(len(readings), maxProposals)] {
		k := t.columns[c-1]
		x := t.base
		x.Column, x.Decimals, x.SeqColumn, x.TickColumn = c, max(0, min(k.decimals, maxDecimals)), seq, tick
		if t.usual*10 >= t.lines*9 && x.Cuts == nil {
			x.Fields = t.fields
		}
		var why []string
		x.Unit, why = k.unitReason()
		x.UnitWritten = x.Unit != Counts && k.united == len(k.numbers)
		var words string
		x.Overload, x.Invalid, words = t.markWords()
		p := Proposal{Config: Config{Format: Text, Text: x}, TickStep: step}
		p.Reasons = append(append(t.reasons(c, x, step), why...), t.why...)
		if words != "" {
			p.Reasons = append(p.Reasons, words)
		}
		if p.measure(t.raw) {
			all = append(all, p)
		}
	}
	return all
}

// measure reads the sample as proposed and reports whether that gives
// anything.
func (p *Proposal) measure(sample []byte) bool {
	d, err := New(p.Config)
	if err != nil {
		return false
	}
	d.Decode(nil, sample)
	p.Stats = d.Stats()
	return p.Stats.Units > 0
}

// reasons says what the fields are taken for.
func (t *table) reasons(c int, x TextConfig, step float64) (why []string) {
	k := t.columns[c-1]
	why = append(why, words.Say("wire.why.usual", t.usual, words.Count("wire.lines", t.lines), words.Count("wire.fields", t.fields)))
	low, high := slices.Min(k.numbers), slices.Max(k.numbers)
	why = append(why, words.Say("wire.why.number", c, strconv.FormatFloat(low, 'f', k.decimals, 64), strconv.FormatFloat(high, 'f', k.decimals, 64)))
	if x.DecimalComma {
		why = append(why, words.Count("wire.why.commas", k.decimals))
	}
	if x.SeqColumn > 0 {
		why = append(why, words.Say("wire.why.count", x.SeqColumn))
	}
	if x.TickColumn > 0 {
		why = append(why, words.Say("wire.why.tick", x.TickColumn, step))
	}
	for i, other := range t.columns {
		if len(other.words) > 0 && other.words[0] != "" && !isUnit([]byte(other.words[0])) {
			why = append(why, words.Say("wire.why.words", i+1, strings.Join(other.words, ", ")))
		}
	}
	return why
}

// isUnit reports whether a word is a unit in any spelling.
func isUnit(word []byte) bool {
	return slices.ContainsFunc(spellings(), func(s spelling) bool {
		return strings.EqualFold(s.text, string(word))
	})
}

// unitReason is the unit to configure, and why.
func (k column) unitReason() (string, []string) {
	for _, s := range spellings() {
		if !strings.EqualFold(s.text, k.unit) {
			continue
		}
		switch {
		case s.unit == "":
			return Counts, []string{words.Say("wire.why.unit.counts", k.unit)}
		case s.unit != k.unit && s.unit != Counts:
			return s.unit, []string{words.Say("wire.why.unit.taken", k.unit, s.unit)}
		}
		return s.unit, []string{words.Say("wire.why.unit", k.unit)}
	}
	return Counts, []string{words.Say("wire.why.nounit")}
}

// markWords are the words in the sample that instruments commonly write
// instead of a reading: common practice, no source. Where a field says that
// the load is stable or in motion, the word for an overload can be expected
// there as well, and why says so.
func (t *table) markWords() (overload, invalid []string, why string) {
	all := slices.Clone(t.odd)
	for _, k := range t.columns {
		all = append(all, k.words...)
	}
	for _, w := range slices.Compact(slices.Sorted(slices.Values(all))) {
		switch strings.ToUpper(w) {
		case "OL", "OVL", "OVER", "OVERLOAD", "OVERRANGE", "+OL", "-OL":
			overload = append(overload, w)
		case "ERR", "ERROR", "---", "----", "-----", "------":
			invalid = append(invalid, w)
		case "ST", "US":
			why = words.Say("wire.why.overload", w)
		}
	}
	if why != "" && !slices.Contains(overload, "OL") {
		overload = append(overload, "OL")
	}
	return overload, invalid, why
}
