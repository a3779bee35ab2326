package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

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

func (b *builder) say(text string) { b.add(Words{text}) }

// Build makes the document.
func Build(s Source) Document {
	s.Unit = cmp.Or(s.Unit, unit.DefaultShown)
	b := &builder{Source: s}
	b.judge()
	if s.MadeUp {
		b.say(words.Say("report.madeup.whole"))
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
			b.results, b.why = append(b.results, nil), append(b.why, words.Say("report.norig"))
			continue
		}
		peak := rating.PeakOf(p.Found)
		peak.Kind = p.Kind
		res, err := rating.JudgeRead(rating.Reading{Cell: cmp.Or(p.Read, p.Cell.Name), Peak: peak}, p.Second, *p.Rig, b.Unit)
		if err != nil {
			b.results, b.why = append(b.results, nil), append(b.why, words.Say("report.unjudged", err))
			continue
		}
		b.results, b.why = append(b.results, &res), append(b.why, "")
	}
}

// happened is the summary.
func (b *builder) happened() {
	b.head(words.Say("report.happened"))
	if len(b.Pulls) == 0 {
		b.say(words.Say("report.nopulls"))
		return
	}
	rows := [][]string{{words.Say("report.pulls"), fmt.Sprint(len(b.Pulls))}}
	add := func(name, value string) {
		if value != "" {
			rows = append(rows, []string{name, value})
		}
	}
	add(words.Say("report.place"), b.Place)
	grounds, vehicles := []string{b.Ground}, []string{}
	for _, p := range b.Pulls {
		grounds = append(grounds, p.Ground)
		if p.Rig != nil {
			vehicles = append(vehicles, p.Rig.Pulling.Name, p.Rig.Stuck.Name)
		}
	}
	add(words.Say("report.ground"), distinct(grounds))
	add(words.Say("report.vehicles"), distinct(vehicles))
	largest := b.Pulls[b.largest()]
	add(words.Say("report.largest"), words.Say("report.largest.is", largest.name(), peakOf(largest, b.Unit)))
	b.add(Table{Rows: rows})
	if len(b.Pulls) > 1 {
		b.list()
	}
	if b.Unit == unit.TonneF {
		b.say(words.Say("report.tonneforce"))
	}
}

// list has a line for each pull.
func (b *builder) list() {
	t := Table{Head: []string{words.Say("report.head.pull"), words.Say("report.head.kind"), words.Say("report.head.peak"), words.Say("report.head.weakest")}, Widths: []float64{0.2, 0.22, 0.22, 0.36}}
	for i, p := range b.Pulls {
		weakest := words.Say("report.list.unjudged")
		if res := b.results[i]; res != nil {
			if it, ok := res.Weakest(); ok {
				weakest = words.Say("report.list.weakest", it.Name, verdict(it.Verdict))
			}
		}
		t.Rows = append(t.Rows, []string{words.Say("report.list.pull", p.name(), p.At.Format("15:04")), distinct([]string{kind(p.Kind), p.Ground}), p.peakAlone(b.Unit), weakest})
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
	var said []string
	for _, c := range rating.Cautions() {
		said = append(said, c.Short)
	}
	b.say(words.Say("report.warning", strings.Join(said, " ")))
}

// cautions are whole.
func (b *builder) cautions() {
	b.head(words.Say("report.cautions"))
	var all []string
	for _, c := range rating.Cautions() {
		all = append(all, words.Say("report.caution", c.Long, c.Source))
	}
	b.add(List{all})
}

func (b *builder) made() string {
	at, version := words.Say("report.made.at", words.Date(b.Made), b.Made.Format("15:04 MST")), b.Version
	if version == "" {
		version = words.Say("report.noversion")
	}
	made := words.Say("report.made", at, version)
	if b.By != "" {
		made = words.Say("report.made.by", at, b.By, version)
	}
	if b.MadeUp {
		return words.Say("report.madeup") + " " + made
	}
	return made
}
