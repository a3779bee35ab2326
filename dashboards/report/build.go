package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
)

// madeUp marks a report of invented pulls, at its head and at the foot of every
// page.
const madeUp = "Everything in this report is made up."

// builder collects the blocks of a document.
type builder struct {
	Source
	blocks  []Block
	results []*rating.Result // one a pull; nil where it was not judged
	why     []string         // why it was not
	told    map[string]bool  // what does not fit in the rigs
}

func (b *builder) add(blocks ...Block) { b.blocks = append(b.blocks, blocks...) }

func (b *builder) head(text string) { b.add(Heading{Level: 2, Text: text}) }

func (b *builder) say(format string, args ...any) { b.add(Words{fmt.Sprintf(format, args...)}) }

// Build makes the document.
func Build(s Source) Document {
	s.Unit = cmp.Or(s.Unit, unit.DefaultShown)
	b := &builder{Source: s}
	b.judge()
	if s.MadeUp {
		b.say("%s The club, the trucks, the gear, the cell and every pull are invented.", madeUp)
	}
	b.warn()
	b.happened()
	b.next()
	for i := range s.Pulls {
		b.pull(i)
	}
	b.assumed()
	b.uncertainty()
	b.calibration()
	b.multipliers()
	b.cautions()
	return Document{Title: s.Title, Made: s.Made, Foot: b.made(), Blocks: b.blocks}
}

func (b *builder) judge() {
	for _, p := range b.Pulls {
		if p.Rig == nil {
			b.results, b.why = append(b.results, nil), append(b.why, "No rig was recorded with this pull, so no item is judged.")
			continue
		}
		peak := rating.PeakOf(p.Found)
		peak.Kind = p.Kind
		res, err := rating.JudgeRead(rating.Reading{Cell: cmp.Or(p.Read, p.Cell.Name), Peak: peak}, p.Second, *p.Rig, b.Unit)
		if err != nil {
			b.results, b.why = append(b.results, nil), append(b.why, fmt.Sprintf("No item is judged: %v.", err))
			continue
		}
		b.results, b.why = append(b.results, &res), append(b.why, "")
	}
}

// happened is the summary.
func (b *builder) happened() {
	b.head("What happened")
	if len(b.Pulls) == 0 {
		b.say("No pull was logged.")
		return
	}
	rows := [][]string{{"Pulls", fmt.Sprint(len(b.Pulls))}}
	add := func(name, value string) {
		if value != "" {
			rows = append(rows, []string{name, value})
		}
	}
	add("Place", b.Place)
	grounds, vehicles := []string{b.Ground}, []string{}
	for _, p := range b.Pulls {
		grounds = append(grounds, p.Ground)
		if p.Rig != nil {
			vehicles = append(vehicles, p.Rig.Pulling.Name, p.Rig.Stuck.Name)
		}
	}
	add("Ground", distinct(grounds))
	add("Vehicles", distinct(vehicles))
	largest := b.Pulls[b.largest()]
	add("Largest peak", largest.Name+", "+peakOf(largest, b.Unit))
	b.add(Table{Rows: rows})
	if len(b.Pulls) > 1 {
		b.list()
	}
	if b.Unit == unit.TonneF {
		b.say("t is tonne-force.")
	}
}

// list has a line for each pull.
func (b *builder) list() {
	t := Table{Head: []string{"Pull", "Kind, ground", "Peak", "Weakest item"}, Widths: []float64{0.2, 0.22, 0.22, 0.36}}
	for i, p := range b.Pulls {
		weakest := "not judged"
		if res := b.results[i]; res != nil {
			if it, ok := res.Weakest(); ok {
				weakest = fmt.Sprintf("%s: %s", it.Name, it.Verdict)
			}
		}
		t.Rows = append(t.Rows, []string{p.Name + ", " + p.At.Format("15:04"), distinct([]string{string(p.Kind), p.Ground}), shortly(peakOf(p, b.Unit)), weakest})
	}
	b.add(t)
}

// largest is the place of the pull with the largest peak.
func (b *builder) largest() (at int) {
	for i, p := range b.Pulls {
		if p.Found.Peak > b.Pulls[at].Found.Peak {
			at = i
		}
	}
	return at
}

// distinct joins words, each once.
func distinct(all []string) string {
	var out []string
	for _, s := range all {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

// warn has the cautions in short on the first page; they are whole at the end.
func (b *builder) warn() {
	said := []string{"Before anybody pulls again:"}
	for _, c := range rating.Cautions() {
		said = append(said, c.Short)
	}
	b.say("%s The cautions stand whole at the end.", strings.Join(said, " "))
}

// cautions are whole.
func (b *builder) cautions() {
	b.head("Cautions")
	var all []string
	for _, c := range rating.Cautions() {
		all = append(all, c.Long+" ("+c.Source+")")
	}
	b.add(List{all})
}

func (b *builder) made() string {
	mark := ""
	if b.MadeUp {
		mark = madeUp + " "
	}
	by := ""
	if b.By != "" {
		by = " by " + b.By
	}
	return fmt.Sprintf("%sMade %s%s with tautlog %s", mark, b.Made.Format("2 January 2006 15:04 MST"), by, cmp.Or(b.Version, "of unknown version"))
}
