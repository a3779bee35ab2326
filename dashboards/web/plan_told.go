package web

import (
	"html/template"

	"tautlog/analysis/plan"
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/steady"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
	"tautlog/ingest/store"
)

// answer is a planned pull as it is told, in the unit in which it was read. It
// is what a kept plan keeps, so that it says later what it said then.
type answer struct {
	Unit     unit.ForceUnit
	Title    string
	Lead     string   // the number to plan with
	Beside   string   // in words, in brackets
	Means    string   // what the number is
	Unfit    []string `json:",omitempty"` // what the register says against items of the rig on that day
	Story    []string
	Facts    []fact
	Passages []passage
	Judged   *judgement
	Remarks  []string
	Set      store.SetRef // the multipliers that it was planned with; empty where there are none in it
}

// passage is a part of the story with its own heading.
type passage struct {
	Title string
	Text  string
	List  []string
	Rows  []row
}

// row is one line of a passage: what it says, and in smaller type on what that
// rests.
type row struct {
	Name, Says string
	Link       string
	Rests      []string
}

// judgement is a plan held against a rig.
type judgement struct {
	Rig     rig.Rig
	Result  rating.Result
	Most    string   // the heading of Largest
	Largest []string // how hard the line may pull, or how fast the puller may be
	Bridles []passage
	Reading string // at the cell of the drawing
}

// answerView is a plan with its drawings.
type answerView struct {
	answer
	RigName    string
	Summary    string
	Verdicts   []verdict
	Most       string
	Limits     []string
	Bridles    []passage
	RigRemarks []string
	Wide, Tall template.HTML
}

// view draws what is told.
func (t answer) view() *answerView {
	v := &answerView{answer: t}
	j := t.Judged
	if j == nil {
		return v
	}
	v.RigName, v.Summary, v.Most, v.Limits, v.Bridles, v.RigRemarks = j.Rig.Name, j.Result.Summary, j.Most, j.Largest, j.Bridles, j.Result.Remarks
	for i, it := range j.Result.Items {
		it.Verdict = it.AtHigh // what is planned for
		v.Verdicts = append(v.Verdicts, verdict{Item: it, Weakest: i == 0})
	}
	o := chain.Options{Unit: t.Unit, ID: "plan-", Reading: j.Reading, Planned: true}
	v.Wide, v.Tall = drawn(j.Rig, &j.Result, o, chain.Wide), drawn(j.Rig, &j.Result, o, chain.Tall)
	return v
}

// bridles tell what the legs of each bridle would carry by their angle.
func bridles(forks []plan.Fork, u unit.ForceUnit) (out []passage) {
	for _, f := range forks {
		p := passage{Title: text("plan.bridle", f.Vehicle), Text: text("plan.bridle.about")}
		for _, l := range f.Legs {
			name := text("plan.bridle.angle", l.Included)
			if l.Included == f.Included {
				name = text("plan.bridle.here", l.Included)
			}
			p.Rows = append(p.Rows, row{Name: name, Says: text("plan.bridle.leg", about(l.Force, u), l.Share)})
		}
		if !f.Equaliser {
			p.List = []string{text("plan.bridle.alone", f.Alone)}
		}
		out = append(out, p)
	}
	return out
}

// load says a load that is known between two ends, with its middle.
func load(l steady.Load, u unit.ForceUnit) string {
	if !l.Wide() {
		return about(l.Likely, u)
	}
	return unit.ShowRange(l.Low, l.High, text("plan.middle"), l.Likely, u)
}
