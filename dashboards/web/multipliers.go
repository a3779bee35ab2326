package web

import (
	"net/http"
	"slices"

	"tautlog/analysis/shock"
)

// multipliersView is the page of a set of multipliers.
type multipliersView struct {
	InUse   string // what is planned with
	Shown   shownSet
	Classes []classRow
	Assumed []shock.Assumption
	Speed   []row
	Drawn   bool     // there are pulls to draw
	Straps  []string // of which the fit by speed tells
	Strap   string   // that is drawn
	Drift   []string // what this program would fit otherwise

	Against, Before       []string // compared with what is assumed, and with the version before
	AgainstName, BeforeIs string

	Check   checkView
	Behind  []behindRow
	Remarks []passage // outliers, flagged pulls, pulls that were left out
	Sets    []setRow
	Log     int // pulls in the log that a fit can use
	Token   string
	Kinds   []option
}

// cautioned: the cautions stand under the multipliers.
func (multipliersView) cautioned() {}

// shownSet is the set that the page is about.
type shownSet struct {
	shock.Kept
	Ref  string // in an address
	When string
	// Log says that it is what the log says today, not kept; InUse that it is
	// planned with.
	Log, InUse bool
}

// classRow is one class, told.
type classRow struct {
	Name, Plan, Says string
	Notes            []string
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
	v := multipliersView{Token: s.tokenIn(r.Context()), Kinds: kindOptions()}
	inUse, err := s.Store.PlanningWith(r.Context())
	if err != nil {
		return err
	}
	sets, err := s.Store.Sets(r.Context())
	if err != nil {
		return err
	}
	log, err := s.logged(r.Context())
	if err != nil {
		return err
	}
	v.InUse = inUse.Label()
	if v.Shown, err = shown(r.URL.Query().Get("set"), inUse, sets, log); err != nil {
		return err
	}
	v.Log = usable(log)
	v.Shown.When = s.madeAt(v.Shown.Made)
	v.tell(sets)
	v.Drawn = len(v.Shown.Pulls) > 0 || v.Log > 0
	if v.Straps = strapsOf(v.Shown.Kept); len(v.Straps) > 0 {
		v.Strap = v.Straps[0]
	}
	if of := r.URL.Query().Get("of"); slices.Contains(v.Straps, of) {
		v.Strap = of
	}
	v.Check = checked(newSheet(r.URL.Query()), v.Shown.Kept, log)
	v.Sets = s.setRows(append(sets, shock.RuleOfThumb()), inUse)
	return s.show(w, r, "multipliers", text("multipliers.title"), v)
}

// shown picks the set that the page is about: the one asked for, or the one in
// use, or what the log says where nothing fitted is in use.
func shown(ref string, inUse shock.Kept, sets []shock.Kept, log []shock.Pull) (shownSet, error) {
	if ref == "" && inUse.Fit == nil && len(log) > 0 || ref == theLog {
		return shownSet{Kept: shock.Keep(text("multipliers.log"), log), Ref: theLog, Log: true}, nil
	}
	if ref == "" {
		ref = setName(inUse)
	}
	for _, k := range append(sets, shock.RuleOfThumb(), inUse) {
		if setName(k) == ref {
			return shownSet{Kept: k, Ref: ref, InUse: ref == setName(inUse)}, nil
		}
	}
	return shownSet{}, refuse(http.StatusNotFound, text("refused.noset", ref))
}

// tell fills in what there is to say of the set.
func (v *multipliersView) tell(sets []shock.Kept) {
	k := v.Shown.Kept
	v.Assumed = k.Assumed
	if k.Fit != nil {
		for _, c := range k.Fit.Classes {
			v.Classes = append(v.Classes, rowOfClass(c))
		}
		v.Speed = speedRows(k.Fit.Speed)
		v.Remarks = setRemarks(*k.Fit)
		_, v.Drift = k.Refit()
	}
	for _, p := range k.Pulls {
		v.Behind = append(v.Behind, rowOfPull(p))
	}
	v.compare(assumption(sets), &v.AgainstName, &v.Against)
	if before, ok := versionBefore(k, sets); ok {
		v.compare(before, &v.BeforeIs, &v.Before)
	}
}

// compare says class by class how the set differs from another one.
func (v *multipliersView) compare(with shock.Kept, name *string, words *[]string) {
	if v.Shown.Kept.Fit == nil {
		return
	}
	*name = with.Label()
	for _, d := range shock.Compare(with, v.Shown.Kept) {
		*words = append(*words, shock.Class(d.ClassName).String()+": "+sentence(d.Words))
	}
}

// assumption is the latest set that was assumed by hand, or the rule of thumb.
func assumption(sets []shock.Kept) shock.Kept {
	for _, k := range sets {
		if k.Fit == nil {
			return k
		}
	}
	return shock.RuleOfThumb()
}

// versionBefore is the version before that of a set; of what the log says
// today, the latest that was fitted.
func versionBefore(k shock.Kept, sets []shock.Kept) (shock.Kept, bool) {
	for _, o := range sets {
		if o.Fit != nil && (k.Version == 0 || o.Name == k.Name && o.Version == k.Version-1) {
			return o, true
		}
	}
	return shock.Kept{}, false
}

func rowOfClass(c shock.ClassRecord) classRow {
	out := classRow{Name: shock.Class(c.ClassName).String(), Says: text("class.says", c.Median, counted(c.Pulls, "pull"), counted(c.Days, "day"))}
	out.Plan = text("class.nobound")
	if c.Upper != nil {
		out.Plan = text("class.bound", *c.Upper)
	}
	if c.Note != "" {
		out.Notes = append(out.Notes, sentence(c.Note))
	}
	for what, b := range map[string]*shock.BoundRecord{"outliers": c.WithoutOutliers, "flagged pulls": c.WithoutFlagged} {
		if b != nil && b.Pulls != c.Pulls && b.Upper != nil && b.Median != nil {
			out.Notes = append(out.Notes, text("class.without", what, *b.Median, *b.Upper))
		}
	}
	return out
}

func (s *server) setRows(sets []shock.Kept, inUse shock.Kept) []setRow {
	var out []setRow
	for _, k := range sets {
		one := setRow{Label: k.Label(), Ref: setName(k), InUse: setName(k) == setName(inUse)}
		switch {
		case k.Fit != nil:
			one.Says = text("set.fitted", counted(len(k.Pulls)-len(k.Fit.LeftOut), "pull"), s.madeAt(k.Made), k.Who)
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
