package web

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

func (s *server) firstRigRoutes() []route {
	return []route{
		reads("GET /rigs/first", s.firstRig).toOperators(),
		writes("POST /rigs/first", s.keepFirstRig),
	}
}

// mostFirst is how many things the form has between the vehicles.
const mostFirst = 8

// firstRigPage is a form for two vehicles, what hangs between them with what is
// stamped on it, and the rig of it, all at once: what there is to enter before a
// first pull can be judged. Each of them has a form of its own that asks for more.
type firstRigPage struct {
	Cell   string // that was set up just now; empty: none
	Wrongs []wrongField
	Groups []group
	Who    entry
	Token  string
}

func (s *server) firstRig(w http.ResponseWriter, r *http.Request) error {
	return s.firstRigPage(w, r, newSheet(nil))
}

func (s *server) firstRigPage(w http.ResponseWriter, r *http.Request, f *sheet) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	f.fill(map[string]string{"who": signature(r)})
	if !f.sent() {
		f.fill(firstRows(cells, r.URL.Query().Get("cell")))
	}
	v := firstRigPage{Cell: r.URL.Query().Get("cell"), Token: s.tokenIn(r.Context()), Groups: firstRigForm(f.in(chosen(r).Unit))}
	v.Wrongs = f.wrongs(v.Groups)
	v.Who = f.set(entry{Name: "who", Label: text("files.who"), Hint: text("files.who.hint")})[0]
	return s.showAs(w, r, formStatus(f, false), "firstrig", text("firstrig.title"), v)
}

// firstRows is the rig that most first ones are, with the cell that is asked for
// or, where none is, the first.
func firstRows(cells []store.Cell, asked string) map[string]string {
	out := map[string]string{}
	for i, k := range []gear.Kind{gear.RecoveryPoint, gear.BowShackle, gear.LoadCell, gear.RecoveryStrap, gear.BowShackle, gear.RecoveryPoint} {
		n := func(name string) string { return nth("g", i+1, name) }
		out[n("kind")] = string(k)
		if k != gear.LoadCell || len(cells) == 0 {
			continue
		}
		c := cells[max(0, slices.IndexFunc(cells, func(c store.Cell) bool { return c.Name == asked }))]
		out[n("name")] = c.Name
		if c.Capacity > 0 {
			out[n("value")], out[n("basis")] = typedForce(c.Capacity), string(gear.WLL)
		}
	}
	return out
}

func firstRigForm(f *sheet) []group {
	vehicle := func(at string) group {
		return group{Title: text("firstrig." + at), Fields: f.set(
			entry{Name: at, Label: text("firstrig.name")},
			entry{Name: at + "-mass", Label: text("firstrig.mass"), Hint: text("firstrig.mass.hint")},
		)}
	}
	groups := []group{vehicle("puller")}
	for i := 1; i <= mostFirst; i++ {
		groups = append(groups, firstRow(f, i))
	}
	return append(groups, vehicle("stuck"))
}

// firstRow is what is asked of one thing between the vehicles.
func firstRow(f *sheet, i int) group {
	n := func(name string) string { return nth("g", i, name) }
	name := entry{Name: n("name"), Label: text("firstrig.name")}
	value := entry{Name: n("value"), Label: text("firstrig.value")}
	if i == 1 { // said once
		name.Hint = text("firstrig.name.hint")
		value.HintOf, value.Like = "firstrig.value.hint", []unit.Force{47e3}
	}
	means := make([]option, 0, len(gear.Bases()))
	for _, b := range gear.Bases() {
		means = append(means, option{Value: string(b), Label: b.Words()})
	}
	return group{Title: text("firstrig.row", i), More: f.text(n("kind")) == "", Fields: f.set(
		entry{Name: n("kind"), Label: text("firstrig.kind", i), Choices: append([]option{{Label: text("firstrig.nothing")}}, choices(gear.Kinds())...)},
		name, value,
		entry{Name: n("basis"), Label: text("firstrig.basis"), Choices: means, Taps: true},
		entry{Name: n("factor"), Label: text("page.gear.form.factor"), Hint: text("firstrig.factor.hint")},
	)}
}

// keepFirstRig enters all of it, or nothing, and puts the rig on the line of the
// cell, where there is one.
func (s *server) keepFirstRig(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(r.PostForm)
	reg := firstRegister(f)
	if !f.good() {
		return s.firstRigPage(w, r, f)
	}
	ctx := s.signed(w, r, "who")
	done, err := s.Store.SaveRegister(ctx, reg, true)
	for _, o := range done {
		if o.Did == store.DidChange { // another one of that name, which stays as it is
			f.refuse(firstField(f, o.Key), text("firstrig.there", o.Key))
		}
	}
	if errors.Is(err, store.ErrInvalid) || errors.Is(err, store.ErrConflict) {
		f.refuse("puller", sentence(cause(err)))
	} else if err != nil {
		return err
	}
	if !f.good() {
		return s.firstRigPage(w, r, f)
	}
	if _, err := s.Store.SaveRegister(ctx, reg, false); err != nil {
		return err
	}
	names, err := s.rigNames(ctx)
	if err != nil {
		return err
	}
	cells, err := s.Store.Cells(ctx)
	if err != nil {
		return err
	}
	cell, there := cellOf(&reg.Rigs[0], cells)
	for id, name := range names {
		if name == reg.Rigs[0].Name && there {
			if _, err := s.Store.SetSetup(ctx, store.Setup{Cell: cell.ID, Rig: id}); err != nil {
				return err
			}
			http.Redirect(w, r, "/line?cell="+urlEscape(cell.Name), http.StatusSeeOther)
			return nil
		}
	}
	http.Redirect(w, r, "/rigs", http.StatusSeeOther)
	return nil
}

// cellOf is the cell that reads a rig: the one that is in it by its name or,
// where none is, the first.
func cellOf(g *rig.Rig, cells []store.Cell) (store.Cell, bool) {
	for _, it := range g.Cells() {
		if i := slices.IndexFunc(cells, func(c store.Cell) bool { return c.Name == it.Name }); i >= 0 {
			return cells[i], true
		}
	}
	if len(cells) == 0 {
		return store.Cell{}, false
	}
	return cells[0], true
}

// firstField is the field in which a name was typed.
func firstField(f *sheet, name string) string {
	for i := 1; i <= mostFirst; i++ {
		if n := nth("g", i, "name"); f.typed(n) == name {
			return n
		}
	}
	if f.typed("stuck") == name {
		return "stuck"
	}
	return "puller"
}

// firstRegister reads the form.
func firstRegister(f *sheet) store.Register {
	var reg store.Register
	vehicle := func(at string) gear.Vehicle {
		m := needed(f, at+"-mass", "mass", "3.1t", unit.ParseMass, above)
		v := gear.Vehicle{Name: f.typed(at), GVM: &m}
		if v.Name == "" {
			f.refuse(at, text("firstrig.noname"))
		}
		return v
	}
	puller, stuck := vehicle("puller"), vehicle("stuck")
	if puller.Name != "" && puller.Name == stuck.Name {
		f.refuse("stuck", text("firstrig.same"))
	}
	reg.Vehicles = []gear.Vehicle{puller, stuck}
	g := rig.Rig{Name: text("firstrig.called", puller.Name, stuck.Name), Pulling: puller, Stuck: stuck}
	used := map[string]bool{}
	at := firstEnds(f, puller.Name, stuck.Name)
	for i := 1; i <= mostFirst; i++ {
		if it, ok := firstItem(f, i, at[i], used); ok {
			reg.Items = append(reg.Items, it)
			g.Chain = append(g.Chain, rig.InLine(it))
		}
	}
	if len(g.Chain) == 0 {
		f.refuse(nth("g", 1, "kind"), text("firstrig.empty"))
	}
	reg.Rigs = []rig.Rig{g}
	return reg
}

// firstEnds is the vehicle at which a row stands, for the rows at both ends.
func firstEnds(f *sheet, puller, stuck string) map[int]string {
	at, first, last := map[int]string{}, 0, 0
	for i := 1; i <= mostFirst; i++ {
		if f.typed(nth("g", i, "kind")) != "" {
			first, last = cmp.Or(first, i), i
		}
	}
	at[last], at[first] = stuck, puller
	return at
}

// firstItem reads one row, which stands at a vehicle or at none; false where it
// is left empty. An item without a name is called by its kind, what is fixed to
// the vehicle by that too, and numbered where there are more of them.
func firstItem(f *sheet, i int, at string, used map[string]bool) (gear.Item, bool) {
	n := func(name string) string { return nth("g", i, name) }
	k := gear.Kind(f.typed(n("kind")))
	if k == "" {
		return gear.Item{}, false
	}
	if !slices.Contains(gear.Kinds(), k) {
		f.refuse(n("kind"), text("firstrig.nokind"))
	}
	it, called := gear.Item{Kind: k}, k.Words()
	if k.Fixed() && at != "" {
		it.Vehicle, called = at, text("firstrig.fixed", at, called)
	}
	it.Name = cmp.Or(f.typed(n("name")), called)
	for j := 2; used[it.Name]; j++ {
		if f.typed(n("name")) != "" {
			f.refuse(n("name"), text("firstrig.twice"))
			break
		}
		it.Name = called + " " + strconv.Itoa(j)
	}
	used[it.Name] = true
	if f.typed(n("value")) != "" {
		it.Ratings = []gear.Rating{firstRating(f, n)}
	}
	return it, true
}

// firstRating reads what is stamped on one thing.
func firstRating(f *sheet, n func(string) string) gear.Rating {
	v, _ := quantity(f, n("value"), "force", unit.ParseStamped, above)
	r := gear.Rating{Value: v, Basis: gear.Basis(f.typed(n("basis")))}
	if !slices.Contains(gear.Bases(), r.Basis) {
		f.refuse(n("basis"), text("firstrig.nobasis"))
	}
	if r.Basis != gear.MBS { // the field is not there otherwise
		return r
	}
	if d, given := quantity(f, n("factor"), text("page.gear.read.design-factor"), plain, above); given {
		r.DesignFactor = &d
		if d < 1 {
			f.refuse(n("factor"), sentence(text("item.check.factor")))
		}
	}
	return r
}
