package web

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/dashboards/logbook"
	"tautlog/ingest/store"
)

// multipliersView is the page of a set of multipliers.
type multipliersView struct {
	InUse   string // what is planned with
	Shown   shownSet
	Classes []classRow
	Assumed []assumedRow
	Speed   []row
	Drawn   bool     // there are pulls to draw
	Straps  []string // of which the fit by speed tells
	Strap   string   // that is drawn
	Drift   []string // what this program would fit otherwise

	Against, Before       []string // compared with what is assumed, and with the version before
	AgainstName, BeforeIs string

	Others []option // sets that it can be held against
	Beside string   // the one that was chosen
	Than   []string // and what that says

	Check   checkView
	Notes   []string // what is being worked out
	Behind  []behindRow
	Count   int    // of the pulls behind it; Behind are some of them
	From    int    // where they begin, from 1
	Earlier string // the pages of them beside this one; empty: none
	Later   string
	Remarks []passage // outliers, flagged pulls, pulls that were left out
	Sets    []setRow
	Log     int // pulls in the log that a fit can use
	Fits    int // of them, those that are chosen
	Some    group
	// SomeOpen says that some pulls are chosen, or that the choice is wrong.
	SomeOpen bool
	Bring    bool // somebody comes to bring in a set
	Token    string
	Kinds    []option
}

// cautioned: the cautions stand under the multipliers.
func (multipliersView) cautioned() {}

// shownSet is the set that the page is about.
type shownSet struct {
	shock.Kept
	Told logbook.Told // what it is made of
	Ref  string       // in an address
	When string
	// Log says that it is what the log says today, not kept; InUse that it is
	// planned with.
	Log, InUse bool
	Some       []string // what is chosen of the log; nil: all of it, or a kept set
}

// classRow is one class, told.
type classRow struct {
	Name, Plan, Says string
	Notes            []string
}

// StrapName is a strap in words.
func (multipliersView) StrapName(name string) string { return shock.StrapName(name) }

// assumedRow is a multiplier that somebody states.
type assumedRow struct{ Times, Says string }

// assumedRows tells what a set assumes.
func assumedRows(k shock.Kept) (rows []assumedRow) {
	for _, a := range k.Assumed {
		rows = append(rows, assumedRow{strconv.FormatFloat(a.Multiplier, 'g', 3, 64), assumedWords(a)})
	}
	return rows
}

// assumedWords says for which pulls a multiplier is assumed, and by whom.
func assumedWords(a shock.Assumption) string {
	kind := text("shock.kind." + string(a.Class.Kind))
	switch {
	case a.Class.Ground != "" && a.Class.Strap != "":
		return text("assume.says.both", kind, a.Class.Ground, shock.StrapName(a.Class.Strap), a.Source)
	case a.Class.Ground != "":
		return text("assume.says.ground", kind, a.Class.Ground, a.Source)
	case a.Class.Strap != "":
		return text("assume.says.strap", kind, shock.StrapName(a.Class.Strap), a.Source)
	}
	return text("assume.says", kind, a.Source)
}

// behindRow is a pull behind a set.
type behindRow struct {
	Name, Link, Says string
}

// setRow is a set that could be planned with.
type setRow struct {
	Label, Ref, Says string
	InUse            bool
}

// theLog is the address of what the log says today.
const theLog = "log"

// multipliers tells what is planned with, and on what that rests.
func (s *server) multipliers(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), r.URL.Query()
	v := multipliersView{Bring: q.Has("bring"), Token: s.tokenIn(ctx), Kinds: kindOptions()}
	inUse, err := s.book.InUse(ctx)
	if err != nil {
		return err
	}
	sets, err := s.book.Sets(ctx)
	if err != nil {
		return err
	}
	log, err := s.book.Log(ctx)
	if err != nil {
		return err
	}
	ref, some := refAsked(q), newSheet(nil)
	if ref == "" && inUse.Fit == nil && len(log.Pulls)+log.Unread > 0 {
		ref = theLog
	}
	if f := someOf(ref); f != nil {
		if _, _, err = s.ofSome(ctx, f); err != nil {
			return err
		}
		if some = f; !some.good() {
			ref = theLog // all of it, beside what is wrong with the choice
		}
	}
	if v.Some, err = s.someForm(ctx, some); err != nil {
		return err
	}
	v.SomeOpen = v.Some.Open() || some.typed("only-cell") != "" || some.typed("by-item") != ""
	if v.Shown, err = s.shown(ctx, cmp.Or(ref, setName(inUse.Kept)), inUse); err != nil {
		return err
	}
	v.InUse, v.Log = inUse.Label(), usable(log.Pulls)
	if v.Fits = v.Log; v.Shown.Some != nil {
		v.Fits = usable(v.Shown.Kept.Pulls)
	}
	v.Shown.When = s.madeAt(v.Shown.Made)
	if log.Unread > 0 {
		v.Notes = append(v.Notes, count("multipliers.unread", log.Unread))
	}
	v.tell(sets)
	if err := v.holdAgainst(sets, q.Get("beside")); err != nil {
		return err
	}
	if err := v.page(q); err != nil {
		return err
	}
	v.Drawn = v.Log > 0 || !v.Shown.Log && v.Shown.Told.Pulls > 0
	if v.Straps = strapsOf(v.Shown.Kept); len(v.Straps) > 0 {
		v.Strap = v.Straps[0]
	}
	if of := q.Get("of"); slices.Contains(v.Straps, of) {
		v.Strap = of
	}
	fitted := v.Shown.Told.Fitted
	if fitted == nil && !v.Shown.Told.Behind && v.Log > 0 {
		t, err := s.book.OfLog(ctx)
		if err != nil {
			return err
		}
		fitted = t.Fitted
		v.note(t)
	}
	offered := v.Shown.Kept
	if len(offered.Assumed) == 0 {
		offered = assumption(sets)
	}
	v.Check = checked(newSheet(q), fitted, v.Shown.Told.Behind || v.Log > 0, offered)
	if v.Check.Answer != "" {
		v.Check.Says = append(v.Check.Says, v.heldAgainst(len(fitted.Set.Used)))
	}
	v.Sets = s.setRows(sets, inUse)
	return s.show(w, r, "multipliers", text("multipliers.title"), v)
}

// heldAgainst says whose pulls a check is of: a kept set knows nothing of those
// that were logged since.
func (v multipliersView) heldAgainst(pulls int) string {
	switch {
	case v.Shown.Some != nil:
		return count("check.ofsome", pulls)
	case v.Shown.Log || v.Shown.Told.Fitted == nil:
		return count("check.oflog", pulls)
	case v.Log > pulls:
		return count("check.of", pulls, v.Shown.Label()) + " " + count("check.more", v.Log)
	}
	return count("check.of", pulls, v.Shown.Label())
}

// usable counts the pulls that a fit can use.
func usable(log []shock.Pull) (n int) {
	for _, p := range log {
		if p.Problem() == "" {
			n++
		}
	}
	return n
}

// shown is the set that a page is about, by its name in an address.
func (s *server) shown(ctx context.Context, ref string, inUse logbook.Head) (v shownSet, err error) {
	if f := someOf(ref); f != nil {
		return s.someShown(ctx, ref, f)
	}
	if ref == theLog {
		v.Told, err = s.book.OfLog(ctx)
		v.Kept, v.Ref, v.Log = v.Told.Kept, theLog, true
		v.Name = text("multipliers.log")
		v.Told.Kept = v.Kept
		return v, err
	}
	name, version, ok := cutSet(ref)
	if !ok {
		return v, refuse(http.StatusNotFound, text("refused.noset", ref))
	}
	v.Told, err = s.book.OfSet(ctx, store.SetRef{Name: name, Version: version})
	if errorsIsNotFound(err) || version == 0 && !shock.IsRuleOfThumb(name) {
		return v, refuse(http.StatusNotFound, text("refused.noset", ref))
	}
	v.Kept = v.Told.Kept
	v.Ref = setName(v.Kept)
	v.InUse = v.Ref == setName(inUse.Kept)
	return v, err
}

// note says what of something told is being worked out.
func (v *multipliersView) note(t logbook.Told) {
	switch {
	case !t.Behind:
	case t.Kept.Version != 0:
		v.Notes = append(v.Notes, count("multipliers.refit", t.Pulls))
	case t.Fitted == nil:
		v.Notes = append(v.Notes, count("multipliers.first", t.Logged))
	default:
		v.Notes = append(v.Notes, count("multipliers.behind", t.Pulls))
	}
}

// mostRemarks is how many pulls of each sort a page remarks on.
const mostRemarks = 50

// tell fills in what there is to say of the set.
func (v *multipliersView) tell(sets []logbook.Head) {
	k := v.Shown.Kept
	v.note(v.Shown.Told)
	v.Assumed = assumedRows(k)
	if k.Fit != nil {
		for _, c := range k.Fit.Classes {
			v.Classes = append(v.Classes, rowOfClass(c))
		}
		v.Speed = speedRows(k.Fit.Speed)
		v.Remarks = setRemarks(*k.Fit)
	}
	if v.Shown.Told.Fitted != nil {
		_, v.Drift = k.Refit()
	}
	v.compare(assumption(sets), &v.AgainstName, &v.Against)
	if before, ok := versionBefore(k, sets); ok {
		v.compare(before, &v.BeforeIs, &v.Before)
	}
}

// page tells the pulls behind the set, a page of them.
func (v *multipliersView) page(q url.Values) error {
	pulls := v.Shown.Kept.Pulls
	v.Count, v.From = len(pulls), 1
	if at := q.Get("from"); at != "" {
		n, err := strconv.Atoi(at)
		if err != nil || n < 1 {
			return refuse(http.StatusBadRequest, text("refused.number", at, "from"))
		}
		v.From = n
	}
	to := func(from int) string {
		return "/multipliers?" + url.Values{"set": {v.Shown.Ref}, "from": {strconv.Itoa(from)}}.Encode() + "#behind"
	}
	if v.From > 1 {
		v.Earlier = to(max(1, v.From-behindShown))
	}
	for i := v.From - 1; i < len(pulls); i++ {
		if len(v.Behind) == behindShown {
			v.Later = to(i + 1)
			break
		}
		v.Behind = append(v.Behind, rowOfPull(pulls[i]))
	}
	return nil
}

// behindShown is how many of the pulls behind a set a page lists.
const behindShown = 200

// compare says class by class how the set differs from another one.
func (v *multipliersView) compare(with shock.Kept, name *string, words *[]string) {
	if v.Shown.Kept.Fit == nil {
		return
	}
	*name, *words = with.Label(), setDifferences(with, v.Shown.Kept)
}

// setDifferences says class by class how one set differs from another.
func setDifferences(a, b shock.Kept) (words []string) {
	for _, d := range shock.Compare(a, b) {
		words = append(words, text("multipliers.difference", shock.Class(d.ClassName), sentence(d.Words)))
	}
	return words
}

// holdAgainst compares the set with the one that was chosen.
func (v *multipliersView) holdAgainst(sets []logbook.Head, ref string) error {
	for _, k := range withThumb(sets) {
		name := setName(k.Kept)
		if name == v.Shown.Ref {
			continue
		}
		v.Others = append(v.Others, option{Value: name, Label: k.Label()})
		if name == ref {
			v.Beside, v.Than = ref, setDifferences(k.Kept, v.Shown.Kept)
		}
	}
	if ref != "" && v.Beside == "" {
		return refuse(http.StatusNotFound, text("refused.noset", ref))
	}
	return nil
}

// assumption is the latest set that was assumed by hand, or the rule of thumb.
func assumption(sets []logbook.Head) shock.Kept {
	for _, k := range sets {
		if k.Fit == nil {
			return k.Kept
		}
	}
	return shock.RuleOfThumb()
}

// versionBefore is the version before that of a set; of what the log says
// today, the latest that was fitted.
func versionBefore(k shock.Kept, sets []logbook.Head) (shock.Kept, bool) {
	for _, o := range sets {
		if o.Fit != nil && (k.Version == 0 || o.Name == k.Name && o.Version == k.Version-1) {
			return o.Kept, true
		}
	}
	return shock.Kept{}, false
}

func rowOfClass(c shock.ClassRecord) classRow {
	out := classRow{Name: shock.Class(c.ClassName).String(), Says: text("class.says", c.Median, count("shock.pulls", c.Pulls), count("shock.days", c.Days))}
	out.Plan = text("class.nobound")
	if c.Upper != nil {
		out.Plan = text("class.bound", *c.Upper)
	}
	if c.Note != "" {
		out.Notes = append(out.Notes, sentence(c.Note))
	}
	if c.Upper == nil && c.Kind == pull.Kinetic { // of other kinds the rule of thumb says nothing
		out.Notes = append(out.Notes, text("class.nobound.plan"))
	}
	for _, without := range []struct {
		of string
		b  *shock.BoundRecord
	}{{text("class.outliers"), c.WithoutOutliers}, {text("class.flagged"), c.WithoutFlagged}} {
		if b := without.b; b != nil && b.Pulls != c.Pulls && b.Upper != nil && b.Median != nil {
			out.Notes = append(out.Notes, text("class.without", without.of, *b.Median, *b.Upper))
		}
	}
	return out
}

func (s *server) setRows(sets []logbook.Head, inUse logbook.Head) []setRow {
	var out []setRow
	for _, k := range withThumb(sets) {
		one := setRow{Label: k.Label(), Ref: setName(k.Kept), InUse: setName(k.Kept) == setName(inUse.Kept)}
		switch {
		case k.Fit != nil:
			one.Says = count("set.fitted", k.Count-len(k.Fit.LeftOut), s.madeAt(k.Made), k.Who)
		case k.Made != "":
			one.Says = text("set.assumed", s.madeAt(k.Made), k.Who)
		default:
			one.Says = text("set.thumb")
		}
		if k.Note != "" {
			one.Says += " " + sentence(k.Note)
		}
		out = append(out, one)
	}
	return out
}
