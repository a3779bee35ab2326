package web

import (
	"strconv"
	"strings"

	"tautlog/analysis/plan"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// tellKinetic tells a planned kinetic pull; h is nil where no rig was chosen.
func tellKinetic(f plan.Forecast, h *plan.Highest) answer {
	k, u := f.Kinetic, f.Kinetic.Unit
	t := answer{Unit: u, Title: kineticTitle(k), Lead: about(f.Planning, u), Means: f.PlannedWith, Set: store.SetRef{Name: k.With.Name, Version: k.With.Version}}
	t.Beside = text("plan.kinetic.beside", about(f.Expected, u))
	t.Story = kineticStory(f)
	t.Facts = kineticFacts(f)
	t.Passages = []passage{{Title: text("plan.kinetic.evidence"), Text: text("plan.kinetic.rule"), Rows: evidenceRows(f)}}
	if rows := attemptRows(f); rows != nil {
		t.Passages = append(t.Passages, passage{Title: text("plan.kinetic.attempts"), Rows: rows})
	}
	t.Passages = append(t.Passages, passage{Title: text("plan.kinetic.recoil"), Text: text("plan.kinetic.bound"), List: f.Recoil.Text()})
	t.Remarks = append(append([]string{}, f.Notes...), f.Outcome.Remarks...)
	if f.Outlook != nil && h != nil {
		t.Judged = &judgement{Rig: f.Outlook.Rig, Result: f.Outlook.Result, Most: text("plan.kinetic.most"), Largest: h.Text, Bridles: bridles(f.Outlook.Forks, u), Reading: about(f.Planning, u)}
	}
	return t
}

func kineticTitle(k plan.Kinetic) string {
	puller, stuck := k.Plan.Puller.String(), k.Plan.Stuck.String()
	if k.Rig != nil {
		puller, stuck = k.Rig.Pulling.Name, k.Rig.Stuck.Name
	}
	if k.Plan.Speed == 0 {
		return text("plan.kinetic.told.standstill", puller, stuck)
	}
	return text("plan.kinetic.told", puller, stuck, k.Plan.Speed)
}

// kineticStory says what was asked, and what the model makes of it.
func kineticStory(f plan.Forecast) []string {
	k, o, u := f.Kinetic, f.Outcome, f.Kinetic.Unit
	first := text("plan.kinetic.story", k.Plan.Puller, o.Pull.Speed, k.Plan.Stuck)
	if k.Ground != "" {
		first = text("plan.kinetic.story.ground", k.Plan.Puller, o.Pull.Speed, k.Plan.Stuck, k.Ground)
	}
	switch {
	case o.Pull.Fixed:
		return []string{first, text("plan.kinetic.fast")}
	case o.Moves:
		return []string{first, text("plan.kinetic.moves", about(k.Plan.Resistance, u), about(o.Held.Peak, u))}
	}
	return []string{first, text("plan.kinetic.stands", about(k.Plan.Resistance, u))}
}

func kineticFacts(f plan.Forecast) []fact {
	o, u := f.Outcome, f.Kinetic.Unit
	out := []fact{
		{text("page.plan.kinetic.told.stretch"), text("plan.kinetic.stretch", o.Stretch, seconds(o.PeakAt))},
		{text("page.plan.kinetic.told.energy"), text("plan.kinetic.energy", plainNumber(f.Recoil.Energy/1000))},
	}
	if share, ok := o.Share(f.Planning); ok {
		out = append(out, fact{text("page.plan.kinetic.told.strap"), text("plan.kinetic.share", strconv.FormatFloat(100*share, 'f', 0, 64), about(o.Strength, u))})
	}
	if o.Pull.Line.Loss > 0 {
		out = append(out, fact{text("page.plan.kinetic.told.back"), text("plan.kinetic.back", plainNumber(o.GivenBack/1000), plainNumber(o.Energy/1000))})
	}
	if said := plannedRebounds(o, u); said != "" {
		out = append(out, fact{text("page.plan.kinetic.told.rebounds"), said})
	}
	return out
}

// plannedRebounds are the first peaks that follow, the driver driving on.
func plannedRebounds(o kinetic.Outcome, u unit.ForceUnit) string {
	var said []string
	for _, r := range o.Rebounds[:min(3, len(o.Rebounds))] {
		said = append(said, text("plan.kinetic.rebound", about(r.Force, u), seconds(r.At)))
	}
	if said == nil {
		return ""
	}
	return text("plan.kinetic.rebounds", strings.Join(said, ", "))
}

// evidenceRows sets side by side all that there is to go by.
func evidenceRows(f plan.Forecast) []row {
	u := f.Kinetic.Unit
	var out []row
	for _, e := range f.Evidence {
		one := row{Name: text("evidence." + string(e.From)), Rests: []string{sentence(e.Text)}}
		used := ""
		if e.Used {
			used = ".used"
		}
		switch {
		case e.Expected != nil && e.Upper != nil:
			one.Says = text("evidence.both"+used, about(*e.Expected, u), about(*e.Upper, u), e.Multiplier, f.Kinetic.Reference)
		case e.Upper != nil:
			one.Says = text("evidence.upper"+used, about(*e.Upper, u), e.Multiplier, f.Kinetic.Reference)
		default:
			one.Says = text("evidence.expected"+used, about(*e.Expected, u), e.Multiplier, f.Kinetic.Reference)
		}
		out = append(out, one)
	}
	return out
}

// attemptRows are the attempts, where there are several.
func attemptRows(f plan.Forecast) []row {
	if len(f.Outcome.Attempts) < 2 {
		return nil
	}
	var out []row
	for i, a := range f.Outcome.Attempts {
		out = append(out, row{Name: text("plan.kinetic.attempt", i+1), Says: text("plan.kinetic.peak", about(a.Peak, f.Kinetic.Unit), moved(a.Way, a.Stops))})
	}
	return out
}

// moved says how far the stuck vehicle goes.
func moved(way *unit.Length, stops bool) string {
	switch {
	case way == nil:
		return text("moved.unknown")
	case *way == 0:
		return text("moved.not")
	case stops:
		return text("moved.by", *way)
	}
	return text("moved.out")
}
