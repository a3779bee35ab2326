package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/rating"
)

// near is the share of its limit from which on an item is named under what to
// do next. Common practice, no source.
const near = 0.8

// step is what to do about one item, told once for all the pulls that ask for
// it.
type step struct {
	name  string
	worst rating.Item // as it was in the pull that asked most of it
	pull  int         // that pull
	in    map[rating.Verdict][]int
}

// next is what to do: items over or near their limit, the worst first, and
// what does not fit.
func (b *builder) next() {
	b.head("What to do next")
	var todo []Step
	for _, s := range b.steps() {
		todo = append(todo, b.toDo(s))
	}
	todo = append(todo, b.unjudged()...)
	todo = append(todo, b.misfits()...)
	if len(todo) == 0 {
		b.say("No item came within %.0f %% of its limit, and nothing is recorded as overdue or out of service. Inspect the gear before it is used again.", 100*near)
		return
	}
	b.add(Steps{todo})
}

// steps are the items that something has to be done about.
func (b *builder) steps() (all []*step) {
	for i, res := range b.results {
		if res == nil {
			continue
		}
		for _, it := range res.Items {
			if it.Verdict == rating.Inside && it.AtHigh == rating.Inside && (it.Utilisation == nil || *it.Utilisation < near) {
				continue
			}
			at := slices.IndexFunc(all, func(s *step) bool { return s.worst.ID == it.ID && s.name == it.Name })
			if at < 0 {
				all = append(all, &step{name: it.Name, worst: it, pull: i, in: map[rating.Verdict][]int{}})
				at = len(all) - 1
			}
			all[at].note(it, i)
		}
	}
	slices.SortStableFunc(all, func(x, y *step) int { return heavier(y.worst, x.worst) })
	return all
}

func (s *step) note(it rating.Item, pull int) {
	if in := s.in[it.Verdict]; len(in) == 0 || in[len(in)-1] != pull { // an item may be in a rig twice
		s.in[it.Verdict] = append(in, pull)
	}
	if heavier(it, s.worst) > 0 {
		s.worst, s.pull = it, pull
	}
}

// heavier compares what two items came to: by verdict, then by share.
func heavier(x, y rating.Item) int {
	share := func(it rating.Item) float64 {
		if it.Utilisation == nil {
			return 0
		}
		return *it.Utilisation
	}
	return cmp.Or(cmp.Compare(x.Verdict.Rank(), y.Verdict.Rank()), cmp.Compare(x.AtHigh.Rank(), y.AtHigh.Rank()), cmp.Compare(share(x), share(y)))
}

// toDo tells a step: what the item came to and in which pulls, what to do, and
// the numbers of the pull that asked most of it.
func (b *builder) toDo(s *step) Step {
	var came []string
	verdicts := rating.Verdicts()
	slices.SortFunc(verdicts, func(x, y rating.Verdict) int { return y.Rank() - x.Rank() })
	for _, v := range verdicts {
		if in := s.in[v]; len(in) > 0 {
			came = append(came, string(v)+" in "+b.pulls(in))
		}
	}
	return Step{
		About: fmt.Sprintf("%s: %s.", s.name, strings.Join(came, "; ")),
		Text:  fmt.Sprintf("%s %s: %s", advice(s.worst), b.Pulls[s.pull].Name, s.worst.Reason),
	}
}

// advice is what to do about an item after such a pull. That what may be
// damaged leaves service until somebody has looked it over is 29 CFR
// 1926.251(a)(1), from memory; the rest is common practice, no source.
func advice(it rating.Item) string {
	switch {
	case it.Verdict == rating.OverBreaking:
		return "Take it out of service for good."
	case it.Verdict == rating.Over:
		return "Take it out of use until somebody competent has looked it over, and pull more gently or with a stronger one."
	case it.Verdict == rating.NotRated:
		return "Use for this what is rated for it, and look this one over before it is used again."
	case it.Verdict == rating.NotJudged:
		return "Find out what it may carry and enter it in the register."
	case it.AtHigh != rating.Inside:
		return "Look it over as if it had been over its rating: within the interval of the peak it may have been."
	}
	return "Look it over before it is used again: little was left."
}

// unjudged are the pulls of which no item is judged.
func (b *builder) unjudged() []Step {
	var once gathered
	for i, why := range b.why {
		if why != "" {
			once.add(why, i)
		}
	}
	return once.tell(func(why string, in []int) Step { return Step{capital(b.pulls(in)) + ":", why} })
}

// misfits are what does not fit in the rigs, the heaviest first.
func (b *builder) misfits() []Step {
	var once gathered
	severities := rating.Severities()
	slices.Reverse(severities)
	for _, of := range severities {
		for i, p := range b.Pulls {
			if p.Rig == nil {
				continue
			}
			for _, m := range rating.Mismatches(*p.Rig, p.Kind, b.Date, b.Unit) {
				if m.Severity == of {
					once.add(string(m.Severity)+": "+m.Text, i)
				}
			}
		}
	}
	return once.tell(func(said string, in []int) Step {
		weight, text, _ := strings.Cut(said, ": ")
		if len(b.Pulls) > 1 {
			text += " (Rigged so in " + b.pulls(in) + ".)"
		}
		return Step{capital(weight) + ":", text}
	})
}

// gathered are sentences, each with the pulls that it is about.
type gathered struct {
	order []string
	in    map[string][]int
}

func (g *gathered) add(text string, pull int) {
	if g.in == nil {
		g.in = map[string][]int{}
	}
	in, known := g.in[text]
	if !known {
		g.order = append(g.order, text)
	}
	if len(in) == 0 || in[len(in)-1] != pull {
		g.in[text] = append(in, pull)
	}
}

func (g *gathered) tell(say func(text string, in []int) Step) (out []Step) {
	for _, text := range g.order {
		out = append(out, say(text, g.in[text]))
	}
	return out
}

// pulls names some of the pulls of the report, in the order that they have
// there: "pull 3", "pulls 3, 5 to 8 and 11".
func (b *builder) pulls(at []int) string {
	number := func(i int) string { return strings.TrimPrefix(b.Pulls[i].Name, "Pull ") }
	var said []string
	for i := 0; i < len(at); {
		j := i
		for j+1 < len(at) && follows(number(at[j]), number(at[j+1])) {
			j++
		}
		if j-i < 2 {
			j = i
		}
		word := number(at[i])
		if j > i {
			word += " to " + number(at[j])
		}
		said, i = append(said, word), j+1
	}
	last := len(said) - 1
	switch {
	case len(at) == 1:
		return "pull " + said[0]
	case last == 0:
		return "pulls " + said[0]
	}
	return "pulls " + strings.Join(said[:last], ", ") + " and " + said[last]
}

// follows says whether the second of two numbers is the next one.
func follows(x, y string) bool {
	a, errA := strconv.Atoi(x)
	b, errB := strconv.Atoi(y)
	return errA == nil && errB == nil && b == a+1
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
