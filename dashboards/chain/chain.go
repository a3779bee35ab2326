// Package chain draws a rig as the chain that it is: from the pulling vehicle
// to the stuck one, every item in the order in which it is joined, bridles
// forking, redirects bending, the load cell as a gap in the line. With a
// result each item is filled from the bottom to its share of its own limit,
// and the weakest one is the largest.
//
// One function draws it for every page and report. It judges nothing and
// knows no style sheet: ink is the text colour of wherever it stands.
package chain

import (
	"fmt"
	"html"
	"io"
	"math"

	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Form is the room that a drawing is made for.
type Form string

// The forms.
const (
	Wide  Form = "wide"  // left to right, with names: a page
	Paper Form = "paper" // the same for a sheet of paper
	Tall  Form = "tall"  // top to bottom, words beside it: a phone
	Mini  Form = "mini"  // left to right without words: a row in a list
)

// Options say how a chain is drawn. The zero value draws wide, in kN.
type Options struct {
	Form Form
	// Unit is the unit of ratings and of the reading.
	Unit unit.ForceUnit
	// ID tells drawings on the same page apart; it goes into element ids and
	// is made of letters, digits and hyphens.
	ID string
	// Reading stands at the load cell; with a result it is the peak where
	// this is empty.
	Reading string
	// Readings are, in a rig with two cells, what stands at each of them by its
	// name, in place of Reading.
	Readings map[string]string
	// Planned says that the pull has not been made: each item is inked to its
	// share of its limit at the expected load, washed from there to its share
	// at the upper end, and has the verdict of that.
	Planned bool
}

// SVG draws the rig, with the verdicts of a result where there is one.
func SVG(w io.Writer, r rig.Rig, res *rating.Result, o Options) error {
	if o.Form == "" {
		o.Form = Wide
	}
	if o.Unit == "" {
		o.Unit = unit.DefaultShown
	}
	if o.Reading == "" && res != nil {
		o.Reading = res.Peak.Value.Show(o.Unit, 0)
	}
	d := &drawing{parts: parts(r, res, o)}
	d.p.prefix = o.ID + string(o.Form) + "-"
	if res != nil && o.Form != Mini {
		if it, ok := res.Weakest(); ok {
			d.sentence = it.Reason
			if o.Form != Tall { // the name stands far from the sentence
				d.sentence = words.Say("chain.weakest", it.Name, it.Reason)
			}
		}
	}
	width, height := d.draw(o.Form)
	_, err := fmt.Fprintf(w, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chain chain-%[1]s\" viewBox=\"0 0 %[2]s %[3]s\"%[6]s role=\"img\" aria-label=\"%[4]s\" font-family=\"system-ui, sans-serif\">\n%[5]s</svg>\n",
		o.Form, num1(math.Ceil(width)), num1(math.Ceil(height)), html.EscapeString(label(r, res)), d.p.b.String(), o.Form.scaled(width, height))
	return err
}

// scaled is the size that a drawing is shown in where the page does not give
// it one: small ones have the same size of item in every row of a list.
func (f Form) scaled(width, height float64) string {
	const small = 0.8
	if f != Mini {
		return ""
	}
	return fmt.Sprintf(` width="%s" height="%s"`, num1(math.Ceil(width*small)), num1(math.Ceil(height*small)))
}

// drawing is one chain on its way to paper.
type drawing struct {
	p        pen
	parts    []part
	sentence string
	// The thin line to the sentence starts at weakFrom, weakY and runs down at
	// weakX.
	weakFrom, weakX, weakY float64
}

func (d *drawing) draw(f Form) (w, h float64) {
	switch f {
	case Wide:
		return d.wide(pageWide)
	case Paper:
		return d.wide(paperWide)
	case Tall:
		return d.tall()
	case Mini:
		return d.mini()
	}
	panic("chain: unknown form " + string(f))
}

// label says the picture in words for those who do not see it.
func label(r rig.Rig, res *rating.Result) string {
	s := words.Say("chain.label", r.Name, r.Pulling.Name, r.Stuck.Name)
	if res != nil && res.Summary != "" {
		s += " " + res.Summary
	}
	return s
}
