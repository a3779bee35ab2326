// Package report makes of a day's pulls, or of one pull, a document that a
// person can print, sign and file: what happened, what to do next, each pull
// with every item of its rig, how sure the numbers are, and what they mean for
// the multipliers.
//
// Build makes the document from values; WriteHTML and WritePDF write it. The
// same values give the same bytes. The package opens no store and knows no
// clock.
package report

import (
	"fmt"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/plot"
)

// Source is what a report is made of.
type Source struct {
	Title         string     // "Test day, 17 May 2026"
	Place, Ground string     // empty: not known
	Date          string     // the day for ages and inspections, as 2026-05-17
	Pulls         []Pull     // in the order of time
	InUse         shock.Kept // the set of multipliers that is planned with
	Log           Evidence
	By            string    // who made the report
	Made          time.Time // when, in the zone in which it is to be shown
	Version       string    // of the program
	Unit          unit.ForceUnit
	MadeUp        bool // everything in it is invented, as on a sample day
}

// Evidence is what the log says of classes of pulls, without the pulls of the
// report and with them.
type Evidence struct {
	Without, With []shock.ClassFit
	// Waiting is how many pulls this is being worked out from; until it is done
	// there is nothing else.
	Waiting int
}

// Pull is one pull of a report.
type Pull struct {
	Number        int64     // in the log
	At            time.Time // its start, in the zone in which it is to be shown
	Cell          Cell
	Kind          pull.Kind // as found, or as a person said
	Ground, Notes string
	Rig           *rig.Rig // as it was rigged; nil: not known
	Read          string   // the name of the cell in the rig, where that is another than now
	Found         pull.Pull
	Second        *rating.Reading // of the rig's other cell at the same moment; nil: none
	Settled       bool            // false: it may still have been going on
	Speed         *unit.Speed
	Limits        *Limits    // nil: it starts and ends as found
	Logged        shock.Pull // as a fit takes it
	Trace         [][]plot.Extent
}

// Limits are a start and an end that a person has set; what is measured of the
// pull is measured within them.
type Limits struct {
	From, To           time.Time
	Who                string
	When               time.Time // they were set
	Found              pull.Pull // what was found without them
	FoundFrom, FoundTo time.Time
	Made               bool // nothing was found there: a person made the pull
}

// Cell is the load cell that measured a pull.
type Cell struct {
	Name     string
	Capacity unit.Force         // 0: not known
	InForce  *calibrate.InForce // at the peak of the pull; nil: not known
	Checks   []calibrate.Check  // made on the day of the pull, the earliest first
}

// Document is a report, ready to be written: blocks from the top to the bottom.
type Document struct {
	Title  string
	Made   time.Time
	Foot   string // who, when, with what; at the foot of every page
	Blocks []Block
}

// Block is one of Heading, Words, List, Steps, Table, Verdict, Chain and Figure.
type Block interface{ Kind() string }

// Heading begins a section; the level is 2 or 3.
type Heading struct {
	Level int
	Text  string
	Page  bool // it begins a page on paper
}

// Words is a paragraph.
type Words struct{ Text string }

// List is a list of sentences.
type List struct{ Items []string }

// Steps is a list of what to do, each with what it is about before it.
type Steps struct{ Items []Step }

// Step is one of them; the verdict, if any, is drawn before it.
type Step struct {
	Verdict     rating.Verdict
	About, Text string
}

// Table is rows under a head, which may be empty. The first column names a row.
type Table struct {
	Head   []string
	Rows   [][]string
	Widths []float64 // of the columns, as shares of the paper's; nil: the first is narrow
}

// Verdict is the verdict on one item, with its reason.
type Verdict struct {
	Verdict     rating.Verdict
	Name, Where string
	Worst       rating.Verdict // what it is at the upper end of the interval, where that differs
	Reason      string
}

// Chain is the rig with its verdicts, drawn.
type Chain struct {
	Rig     rig.Rig
	Result  *rating.Result
	Unit    unit.ForceUnit
	ID      string
	Reading string
	// Readings are those of two cells by their names; nil: Reading is of the one.
	Readings map[string]string
}

// Figure is a drawing of a trace.
type Figure struct {
	Course plot.Course
	ID     string
	Low    bool // so that the rig fits below it on one sheet
}

func (f Figure) drawn() plot.Figure {
	d := plot.Trace(f.Course)
	if f.Low {
		return d.Lower(0.66)
	}
	return d
}

// Kind names the block.
func (Heading) Kind() string { return "heading" }

// Kind names the block.
func (Words) Kind() string { return "words" }

// Kind names the block.
func (List) Kind() string { return "list" }

// Kind names the block.
func (Steps) Kind() string { return "steps" }

// Kind names the block.
func (Table) Kind() string { return "table" }

// Kind names the block.
func (Verdict) Kind() string { return "verdict" }

// Kind names the block.
func (Chain) Kind() string { return "chain" }

// Kind names the block.
func (Figure) Kind() string { return "figure" }

// Head is the line with the verdict.
func (v Verdict) Head() string {
	if v.Worst == "" {
		return words.Say("report.verdict", verdict(v.Verdict), v.Name, v.Where)
	}
	return words.Say("report.verdict.worst", verdict(v.Verdict), v.Name, v.Where, verdict(v.Worst))
}

// verdict is one in words.
func verdict(v rating.Verdict) string { return fmt.Sprint(v) }
