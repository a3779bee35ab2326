package web

import (
	"net/http"
	"slices"
	"strconv"

	"tautlog/analysis/life"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/chain"
	"tautlog/ingest/store"
)

// gearRoutes are the pages of gear.
func (s *server) gearRoutes() []route {
	return []route{
		reads("GET /gear", s.gear),
		reads("GET /gear/new", s.newItem).toOperators(),
		writes("POST /gear/new", s.saveNewItem),
		reads("GET /gear/labels", s.labels),
		reads("GET /gear/{id}", s.item),
		reads("GET /gear/{id}/edit", s.editItem).toOperators(),
		writes("POST /gear/{id}/edit", s.saveItem),
		writes("POST /gear/{id}/inspect", s.inspect).withPictures(),
		writes("POST /gear/{id}/proof", s.addProof),
		writes("POST /gear/{id}/quarantine", s.quarantine),
		writes("POST /gear/{id}/release", s.release),
		writes("POST /gear/{id}/retire", s.retire),
		writes("POST /gear/{id}/remove", s.remove),
		writes("POST /gear/{id}/undo", s.undo),
		reads("GET /pictures/{hash}", s.picture),
	}
}

// itemPage is the page of one item.
type itemPage struct {
	Ref         int64
	Item        gear.Item
	Rated       []string
	Never       bool // it is no recovery point, whatever is stamped on it
	Troubles    []string
	Retired     string
	Facts       []fact
	Life        lifeView
	Inspections []inspectionView
	Holds       bool // it is a point, or a mounting itself
	Mounting    *mountingView
	Proof       []entry
	Proving     bool // its form was refused, and stands open
	Inspect     []entry
	Kept        []string // pictures that came with a form that was refused
	Quarantine  []entry
	Release     []entry
	Retire      []entry
	Wrongs      []wrongField
	Late        []string // why forms that are not shown any more were refused
	Journal     journalView
	Token       string
}

// What says what it is and where, in short.
func (v itemPage) What() string { return whatItIs(v.Item) }

func (s *server) itemAsked(r *http.Request) (store.Document[gear.Item], error) {
	id, err := number(r.PathValue("id"), text("page.gear.item.an-item"))
	if err != nil {
		return store.Document[gear.Item]{}, err
	}
	return s.Store.Item(r.Context(), id)
}

func (s *server) item(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	return s.showItem(w, r, d, newSheet(nil), nil)
}

// showItem shows an item, with a form as it was typed where it was refused.
func (s *server) showItem(w http.ResponseWriter, r *http.Request, d store.Document[gear.Item], f *sheet, kept []string) error {
	u, today := chosen(r).Unit, s.today()
	uses, err := s.Store.ItemUses(r.Context(), d.ID)
	if err != nil {
		return err
	}
	names, err := s.vehicleNames(r.Context())
	if err != nil {
		return err
	}
	l := life.Of(d.Value, uses, today, u)
	it := onVehicle(d.Value, names)
	v := itemPage{Ref: d.ID, Item: it, Rated: rated(it, u), Never: it.Kind.NeverRecovery(), Facts: itemFacts(it), Kept: kept, Token: s.tokenIn(r.Context())}
	used, err := s.troubles.usedBy(r.Context(), d.ID)
	if err != nil {
		return err
	}
	v.Troubles = life.Troubles(d.Value, used[d.ID], today, u)
	if it.Retired != nil {
		v.Retired = life.Retired.Says(*it.Retired)
	}
	v.Life = s.lifeOf(l, r, u)
	v.Inspections, v.Mounting = inspectionsOf(it), mountingOf(it, u)
	v.Holds = mayHold(it)
	s.fillForms(r, &v, f)
	v.Late = late(it, f)
	v.Wrongs = f.wrongs([]group{{Fields: v.Proof}, {Fields: v.Inspect}, {Fields: v.Release}, {Fields: v.Quarantine}, {Fields: v.Retire}})
	v.Proving = slices.ContainsFunc(v.Proof, func(e entry) bool { return e.Wrong != "" })
	if v.Journal, err = s.journalOf(r, "item", pathOf("gear", d.ID), d.ID, d.Version); err != nil {
		return err
	}
	if !d.Removed.IsZero() {
		v.Journal.Removed = s.at(d.Removed.UnixNano())
	}
	status := http.StatusOK
	if !f.good() {
		status = http.StatusUnprocessableEntity
	}
	return s.showAs(w, r, status, "item", it.Name, v)
}

// late says why the forms were refused that an item does not show any more, since
// somebody else was faster.
func late(it gear.Item, f *sheet) (out []string) {
	outOfUse := it.Quarantined != nil || it.Retired != nil
	for _, act := range []struct {
		name  string
		shown bool
	}{{"quarantine", !outOfUse}, {"release", outOfUse}, {"retire", it.Retired == nil}} {
		if say := f.wrong[act.name+"-reason"]; say != "" && !act.shown {
			out = append(out, say)
		}
	}
	return out
}

// itemFacts is what is recorded of an item beside ratings.
func itemFacts(it gear.Item) (out []fact) {
	add := func(name, value string) {
		if value != "" {
			out = append(out, fact{name, value})
		}
	}
	add(text("page.gear.item.on-the-item"), it.ID)
	add(text("page.gear.item.fixed-to"), it.Vehicle)
	add(text("page.gear.item.where"), it.Where)
	if it.Length != nil {
		add(text("page.gear.item.length"), it.Length.String())
	}
	if it.Stiffness != nil {
		add(text("page.gear.item.stiffness"), it.Stiffness.String())
	}
	if it.Mass != nil {
		add(text("page.gear.item.its-own-mass"), it.Mass.String())
	}
	add(text("page.gear.item.maker"), it.Maker)
	add(text("page.gear.item.serial-number"), it.Serial)
	add(text("page.gear.item.made"), words.DateOf(it.Made))
	return out
}

// lifeView is what an item has been through.
type lifeView struct {
	Facts []fact
	Pulls []carriedView
	More  string // address of more pulls
}

// carriedView is one pull of an item.
type carriedView struct {
	ID      int64
	When    string
	Kind    string
	Ground  string
	Load    string
	Of      string // share of its WLL and MBS
	Verdict rating.Verdict
	Reason  string
	Beside  []int64 // the same pull as another cell saw it
}

// firstPulls is how many pulls of an item its page shows at first.
const firstPulls = 10

func (s *server) lifeOf(l life.Life, r *http.Request, u unit.ForceUnit) lifeView {
	v := lifeView{Facts: s.lifeFacts(l, u)}
	n := firstPulls
	if more, err := strconv.Atoi(r.URL.Query().Get("pulls")); err == nil && more > n {
		n = more
	}
	if n < len(l.Pulls) {
		v.More = r.URL.Path + "?pulls=" + strconv.Itoa(n+10*firstPulls) + "#life"
	}
	for i, c := range l.Pulls[:min(n, len(l.Pulls))] {
		one := carriedView{ID: c.Use.Pull, When: s.at(c.Use.Start), Kind: kindWords(c.Use.Kind), Ground: c.Use.Ground, Load: text("life.unknown"), Of: shares(c), Verdict: c.Verdict, Reason: l.Reason(i, u), Beside: c.Use.Beside}
		if c.Known {
			one.Load = about(c.Carried, u)
		}
		v.Pulls = append(v.Pulls, one)
	}
	return v
}

// shares is a load as parts of the item's WLL and breaking strength.
func shares(c life.Carried) string {
	say := ""
	if c.OfWLL != nil {
		say = text("life.ofwll", chain.Percent(*c.OfWLL))
	}
	if c.OfMBS != nil {
		if say != "" {
			say += ", "
		}
		say += text("life.ofmbs", chain.Percent(*c.OfMBS))
	}
	return say
}

func (s *server) lifeFacts(l life.Life, u unit.ForceUnit) []fact {
	out := []fact{{text("page.gear.item.pulls"), text("life.pulls", len(l.Pulls))}}
	if l.Rebounds > 0 {
		out = append(out, fact{text("page.gear.item.load-cycles"), count("life.cycles", l.Rebounds, l.Cycles())})
	}
	if l.Unknown > 0 {
		out = append(out, fact{text("page.gear.item.load-not-known"), text("life.pulls", l.Unknown)})
	}
	if l.Largest >= 0 {
		c := l.Pulls[l.Largest]
		say := about(c.Carried, u)
		if of := shares(c); of != "" {
			say += ", " + of
		}
		out = append(out, fact{text("page.gear.item.largest-load"), say + ", " + s.at(c.Use.Start)})
	}
	for _, c := range l.Counts {
		if c.Pulls > 0 {
			out = append(out, fact{text("page.gear.item.found." + string(c.Verdict)), text("life.pulls", c.Pulls)})
		}
	}
	if len(l.Item.Ratings) > 0 && l.Item.StatedMBS() > 0 {
		n, high := l.Above(0.5)
		out = append(out, fact{text("page.gear.item.above-half"), text("life.above", text("life.pulls", n), high)})
	}
	if l.Last > 0 {
		out = append(out, fact{text("page.gear.item.first-used"), s.at(l.First)}, fact{text("page.gear.item.last-used"), s.at(l.Last)})
	}
	if l.Age.Text != "" {
		out = append(out, fact{text("page.gear.item.age"), l.Age.Text})
	}
	out = append(out, fact{text("page.gear.item.inspection"), l.Due.Text})
	return append(out, fact{text("page.gear.item.rule"), l.Item.RetireRule.Text()})
}
