package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/ingest/store"
)

// askFor is how long after a pull the live page asks about it.
const askFor = 2 * time.Hour

// askView is one question about a pull that only a person can answer, to be
// answered by a tap, with what was answered so far.
type askView struct {
	Pull     int64
	Cell     string
	Step     string // what is asked; empty: everything was
	Question string
	Count    string // "2 of 4"
	Choices  []askChoice
	Said     []string
	Undo     string // the answer that can be taken back, in words; empty: none
	Asked    string // the steps that are behind, for the form
	Token    string
}

// askChoice is an answer on a button.
type askChoice struct {
	Value, Label string
	Now          bool // it is what is recorded
}

// asked is a step that is behind: what was asked, and which change of the
// journal the answer was; 0 where it is not known, or was known already.
type asked struct {
	step   string
	change int64
}

// steps are what is asked of a pull, in their order. A speed and slack are
// those of a run-up.
func steps(k pull.Kind) []string {
	if k == pull.Kinetic {
		return []string{"speed", "slack", "ground", "depth"}
	}
	return []string{"ground", "depth"}
}

// readAsked reads the steps behind as they travel in the form.
func readAsked(s string) (out []asked, err error) {
	for part := range strings.SplitSeq(s, ",") {
		if part == "" {
			continue
		}
		step, change, ok := strings.Cut(part, ":")
		n, err := strconv.ParseInt(change, 10, 64)
		if !ok || err != nil || !slices.Contains(steps(pull.Kinetic), step) {
			return nil, refuse(http.StatusBadRequest, text("refused.form"))
		}
		out = append(out, asked{step, n})
	}
	return out, nil
}

func writeAsked(behind []asked) string {
	parts := make([]string, len(behind))
	for i, a := range behind {
		parts[i] = fmt.Sprintf("%s:%d", a.step, a.change)
	}
	return strings.Join(parts, ",")
}

// ask finds the next question about a pull, and what was said so far.
func (s *server) ask(ctx context.Context, p store.Pull, cell string, behind []asked) (*askView, error) {
	all, known := steps(p.Kind), accountTyped(accountOf(p))
	v := &askView{Pull: p.ID, Cell: cell, Asked: writeAsked(behind), Token: s.tokenIn(ctx)}
	for i, step := range all {
		if known[step] != "" {
			v.Said = append(v.Said, text("ask.said."+step, saidOf(step, known[step])))
		}
		was := slices.ContainsFunc(behind, func(a asked) bool { return a.step == step })
		if v.Step == "" && !was && (known[step] == "" || step == "ground" && slices.ContainsFunc(all, func(o string) bool { return known[o] == "" })) {
			v.Step, v.Question, v.Count = step, text("ask."+step), text("ask.count", i+1, len(all))
		}
	}
	if len(behind) > 0 {
		last := behind[len(behind)-1]
		v.Undo = text("ask.skipped." + last.step)
		if last.change != 0 {
			v.Undo = text("ask.said."+last.step, saidOf(last.step, known[last.step]))
		}
	}
	var err error
	v.Choices, err = s.choicesFor(ctx, v.Step, known[v.Step])
	return v, err
}

// saidOf is an answer in words.
func saidOf(step, value string) string {
	if step == "depth" && value != "" {
		return text("depth." + value)
	}
	return value
}

// Common values of run-ups on straps and ropes; common practice, no source.
// What they leave out is typed on the page of the pull.
var (
	speedsAsked = []string{"0 km/h", "3 km/h", "5 km/h", "8 km/h", "10 km/h", "12 km/h", "15 km/h", "20 km/h"}
	slacksAsked = []string{"0 m", "0.5 m", "1 m", "1.5 m", "2 m", "3 m", "4 m", "5 m"}
)

const groundsAsked = 6

func (s *server) choicesFor(ctx context.Context, step, now string) ([]askChoice, error) {
	var values []string
	switch step {
	case "":
		return nil, nil
	case "speed":
		values = speedsAsked
	case "slack":
		values = slacksAsked
	case "depth":
		values = []string{store.DepthWheel, store.DepthFender, store.DepthCab}
	case "ground":
		var err error
		if values, err = s.grounds(ctx, now); err != nil {
			return nil, err
		}
	}
	out := make([]askChoice, len(values))
	for i, v := range values {
		out[i] = askChoice{v, saidOf(step, v), v == now}
	}
	return out, nil
}

// grounds are those of the latest pulls, the one that is recorded first.
func (s *server) grounds(ctx context.Context, now string) ([]string, error) {
	latest, err := s.Store.Pulls(ctx, store.PullFilter{Limit: 200})
	if err != nil {
		return nil, err
	}
	var out []string
	add := func(g string) {
		if g != "" && !slices.Contains(out, g) && len(out) < groundsAsked {
			out = append(out, g)
		}
	}
	add(now)
	for _, p := range latest {
		add(p.Ground)
	}
	for _, g := range commonGrounds() {
		add(g)
	}
	return out, nil
}

// commonGrounds are those that are offered where none was named yet.
func commonGrounds() []string { return strings.Split(text("ask.grounds"), ", ") }

// answerAsk keeps an answer, leaves a question, or takes the last answer back.
func (s *server) answerAsk(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	behind, err := readAsked(r.PostForm.Get("asked"))
	if err != nil {
		return err
	}
	switch {
	case r.PostForm.Get("undo") != "":
		behind, err = s.takeBack(r, p, behind)
	case !slices.Contains(steps(p.Kind), r.PostForm.Get("step")):
		return refuse(http.StatusBadRequest, text("refused.form"))
	case r.PostForm.Get("skip") != "":
		behind = append(behind, asked{step: r.PostForm.Get("step")})
	default:
		behind, err = s.keepAnswer(r, p, behind)
	}
	if err != nil {
		return err
	}
	if r.PostForm.Get("part") == "" { // the page has no script
		http.Redirect(w, r, "/line?cell="+urlEscape(c.Name)+"&asked="+url.QueryEscape(writeAsked(behind))+"#ask", http.StatusSeeOther)
		return nil
	}
	if p, err = s.Store.Pull(r.Context(), p.ID); err != nil {
		return err
	}
	v, err := s.ask(r.Context(), p, c.Name, behind)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "line", "ask", v)
}

// keepAnswer writes an answer into the pull, into what is there now where
// somebody else said something of it in that moment. One that is recorded
// already is no change.
func (s *server) keepAnswer(r *http.Request, p store.Pull, behind []asked) ([]asked, error) {
	step, value := r.PostForm.Get("step"), strings.TrimSpace(r.PostForm.Get("value"))
	for range mostTries {
		typed := accountTyped(accountOf(p))
		if typed[step] == value {
			return append(behind, asked{step: step}), nil
		}
		form := url.Values{}
		for name, v := range typed {
			form.Set(name, v)
		}
		form.Set(step, value)
		f := newSheet(form)
		now := readAccount(f, accountOf(p))
		if !f.good() || value == "" {
			return nil, refuse(http.StatusBadRequest, text("refused.known", strings.Join(f.all(), " ")))
		}
		now.Ground = cut(now.Ground, 80)
		saved, err := s.Store.SavePull(r.Context(), now.of(p))
		if errors.Is(err, store.ErrConflict) {
			if p, err = s.Store.Pull(r.Context(), p.ID); err == nil {
				continue
			}
		}
		if err != nil {
			return nil, err
		}
		if saved.Version == p.Version { // the same in other words
			return append(behind, asked{step: step}), nil
		}
		mine, err := s.saidBetween(r.Context(), p.ID, p.Version, saved.Version)
		if err != nil || len(mine) == 0 {
			return nil, errors.Join(err, store.ErrNotFound)
		}
		return append(behind, asked{step, mine[0].ID}), nil
	}
	return nil, store.ErrConflict
}

// takeBack goes back one step, and takes its answer out of the pull again.
func (s *server) takeBack(r *http.Request, p store.Pull, behind []asked) ([]asked, error) {
	if len(behind) == 0 {
		return behind, nil
	}
	last := behind[len(behind)-1]
	if last.change != 0 {
		mine, err := s.Store.Changes(r.Context(), store.JournalFilter{What: "pull", Ref: p.ID, Before: last.change + 1, Limit: 1})
		if err != nil {
			return nil, err
		}
		if len(mine) == 0 || mine[0].ID != last.change {
			return nil, refuse(http.StatusNotFound, text("refused.nochange"))
		}
		if _, err := s.Store.Undo(r.Context(), last.change); err != nil {
			return nil, storeSays(err)
		}
	}
	return behind[:len(behind)-1], nil
}
