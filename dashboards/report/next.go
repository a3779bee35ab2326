package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/words"
)

// near is the share of its limit from which on an item is named under what to
// do next. Common practice, no source.
const near = 0.8

// use is what the pulls of the report asked of one item.
type use struct {
	name  string
	worst rating.Item // as it was in the pull that asked most of it
	pull  int         // that pull
	in    map[rating.Verdict][]int
	close bool // something has to be done about it
}

// next is what to do: items over or near their limit, the worst first, then
// what does not fit. Each item is told once for all the pulls.
func (b *builder) next() {
	b.head(words.Say("report.next"))
	uses := b.uses()
	todo := append(b.toDo(uses), b.unjudged()...)
	misfits := b.misfits()
	if len(todo) > 0 {
		b.add(Steps{todo})
	} else if len(misfits) == 0 {
		b.say(words.Say("report.next.nothing", 100*near))
	}
	b.add(misfits...)
	if len(b.Pulls) > 1 {
		b.easy(uses)
	}
}

// uses are the items of all rigs, the hardest used first.
func (b *builder) uses() (all []*use) {
	for i, res := range b.results {
		if res == nil {
			continue
		}
		for _, it := range res.Items {
			at := slices.IndexFunc(all, func(u *use) bool { return u.worst.ID == it.ID && u.name == it.Name })
			if at < 0 {
				all = append(all, &use{name: it.Name, worst: it, pull: i, in: map[rating.Verdict][]int{}})
				at = len(all) - 1
			}
			all[at].note(it, i)
		}
	}
	slices.SortStableFunc(all, func(x, y *use) int { return heavier(y.worst, x.worst) })
	return all
}

func (u *use) note(it rating.Item, pull int) {
	if in := u.in[it.Verdict]; len(in) == 0 || in[len(in)-1] != pull { // an item may be in a rig twice
		u.in[it.Verdict] = append(in, pull)
	}
	if heavier(it, u.worst) > 0 {
		u.worst, u.pull = it, pull
	}
	u.close = u.close || Asks(it)
}

// Asks says whether something has to be done about an item after such a pull:
// where it is not inside its rating, may not have been, or was near its limit.
func Asks(it rating.Item) bool {
	return it.Verdict != rating.Inside || it.AtHigh != rating.Inside || it.Utilisation != nil && *it.Utilisation >= near
}

// heavier compares what two items came to: by verdict, then by share, then by
// load.
func heavier(x, y rating.Item) int {
	share := func(it rating.Item) float64 {
		if it.Utilisation == nil {
			return 0
		}
		return *it.Utilisation
	}
	return cmp.Or(cmp.Compare(x.Verdict.Rank(), y.Verdict.Rank()), cmp.Compare(x.AtHigh.Rank(), y.AtHigh.Rank()), cmp.Compare(share(x), share(y)), cmp.Compare(x.Carried, y.Carried))
}

// toDo tells what to do about the items that need it: what they came to in
// which pulls, and the numbers of the pull that asked most of them. Items of
// which the same is to be said, as of the two legs of a bridle, are told together.
func (b *builder) toDo(uses []*use) (out []Step) {
	type told struct {
		verdict   rating.Verdict
		came, why string
		pull      int
	}
	var order []told
	about := map[told][]*use{}
	for _, u := range uses {
		if !u.close {
			continue
		}
		t := told{u.worst.Verdict, b.came(u), u.worst.Reason, u.pull}
		if _, known := about[t]; !known {
			order = append(order, t)
		}
		about[t] = append(about[t], u)
	}
	for _, t := range order {
		var names []string
		for _, u := range about[t] {
			names = append(names, u.name)
		}
		text := words.Say("report.step.text", advice(about[t][0].worst, some(names)), b.Pulls[t.pull].name(), t.why)
		out = append(out, Step{t.verdict, words.Say("report.step.about", joined(names), t.came), text})
	}
	return out
}

// came says what an item came to, the worst first, and in which pulls.
func (b *builder) came(u *use) string {
	var came []string
	verdicts := rating.Verdicts()
	slices.SortFunc(verdicts, func(x, y rating.Verdict) int { return y.Rank() - x.Rank() })
	for _, v := range verdicts {
		if in := u.in[v]; len(in) > 0 {
			came = append(came, words.Say("report.came", verdict(v), b.pulls(in)))
		}
	}
	return strings.Join(came, "; ")
}

// easy tells of the items that nothing has to be done about.
func (b *builder) easy(uses []*use) {
	var list []string
	for _, u := range uses {
		if !u.close {
			list = append(list, words.Say("report.easy", u.name, b.came(u), b.Pulls[u.pull].Number, u.worst.Reason))
		}
	}
	if len(list) > 0 {
		b.add(Heading{Level: 3, Text: words.Say("report.easy.head")}, List{list})
	}
}

// Advice is what to do about an item that Asks for it after such a pull. That what may be
// damaged leaves service until somebody has looked it over is 29 CFR
// 1926.251(a)(1), from memory; the rest is common practice, no source.
func Advice(it rating.Item) string { return advice(it, "one") }

// advice is Advice on one item, or on many of which the same is to be said.
func advice(it rating.Item, on string) string {
	say := func(name string) string { return words.Say("report.advice." + name + "." + on) }
	switch {
	case it.Verdict == rating.OverBreaking:
		return say("forgood")
	case it.Verdict == rating.Over:
		return say("outofuse")
	case it.Verdict == rating.NotRated:
		return say("notrated")
	case it.Verdict == rating.NotJudged && it.Open && it.Limit != nil && it.Limit.Working:
		return say("atleast") // what it may carry is known, what it carried is not
	case it.Verdict == rating.NotJudged:
		return say("unknown")
	case it.AtHigh != rating.Inside:
		return say("mayhave")
	}
	return say("close")
}

// unjudged are the pulls of which no item is judged.
func (b *builder) unjudged() (out []Step) {
	var once gathered
	for i, why := range b.why {
		if why != "" {
			once.add(why, i)
		}
	}
	for _, why := range once.order {
		out = append(out, Step{"", words.Say("report.about."+some(once.in[why]), b.numbers(once.in[why])), why})
	}
	return out
}

// misfits are what does not fit in the rigs, the heaviest first.
func (b *builder) misfits() (out []Block) {
	b.told = map[string]bool{}
	severities := rating.Severities()
	slices.Reverse(severities)
	for _, of := range severities {
		var once gathered
		for i, p := range b.Pulls {
			if p.Rig == nil {
				continue
			}
			for _, m := range rating.Mismatches(*p.Rig, p.Kind, b.Date, b.Unit) {
				if m.Severity == of {
					once.add(m.Text, i)
					b.told[m.Text] = true
				}
			}
		}
		if len(once.order) > 0 {
			out = append(out, Heading{Level: 3, Text: severity(of)}, List{b.withPulls(once)})
		}
	}
	return out
}

// withPulls are sentences about rigs, each with the pulls that were rigged so
// where there is more than one pull.
func (b *builder) withPulls(g gathered) (out []string) {
	for _, text := range g.order {
		if len(b.Pulls) > 1 {
			text = words.Say("report.rigged", text, b.pulls(g.in[text]))
		}
		out = append(out, text)
	}
	return out
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

// pulls names some of the pulls of the report, in the order that they have
// there: "pull 3", "pulls 3, 5 to 8 and 11".
func (b *builder) pulls(at []int) string {
	return words.Say("report.these."+some(at), b.numbers(at))
}

// some is how a text ends its name that is about one, or about several.
func some[T any](of []T) string {
	if len(of) == 1 {
		return "one"
	}
	return "many"
}

func (b *builder) numbers(at []int) string {
	number := func(i int) int64 { return b.Pulls[at[i]].Number }
	var said []string
	for i := 0; i < len(at); {
		j := i
		for j+1 < len(at) && number(j+1) == number(j)+1 {
			j++
		}
		if j-i < 2 {
			j = i
		}
		word := fmt.Sprint(number(i))
		if j > i {
			word = words.Say("report.fromto", number(i), number(j))
		}
		said, i = append(said, word), j+1
	}
	return joined(said)
}

// joined is a list in a sentence: "3, 5 to 8 and 11".
func joined(said []string) string {
	last := len(said) - 1
	if last == 0 {
		return said[0]
	}
	return words.Say("report.and", strings.Join(said[:last], ", "), said[last])
}

// severity heads what does not fit.
func severity(s rating.Severity) string {
	switch s {
	case rating.DoNotPull:
		return words.Say("report.misfit.stop")
	case rating.SettleFirst:
		return words.Say("report.misfit.settle")
	}
	return words.Say("report.misfit.know")
}
