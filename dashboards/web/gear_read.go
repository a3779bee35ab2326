package web

import (
	"encoding"
	"regexp"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// readItem reads the form of an item over the item as it was: what the form
// does not show stays, and so does what was left as it was shown.
func readItem(f *sheet, was gear.Item) gear.Item {
	it, shown := was, itemTyped(was)
	it.Name, it.ID, it.Vehicle, it.Where = f.typed("name"), f.typed("id"), f.typed("vehicle"), f.typed("where")
	it.Maker, it.Serial, it.Notes = f.typed("maker"), f.typed("serial"), f.typed("notes")
	it.Kind = gear.Kind(f.typed("kind"))
	if !it.Kind.Known() {
		f.refuse("kind", text("field.gearkind"))
	}
	it.Made = string(readDate(f, "made"))
	it.Length = known(f, shown, "length", "length", unit.ParseLength, above, was.Length)
	it.Mass = known(f, shown, "mass", "mass", unit.ParseMass, above, was.Mass)
	it.Stiffness = known(f, shown, "stiffness", "stiffness", unit.ParseStiffness, above, was.Stiffness)
	it.InspectEvery = readCount(f, "every")
	it.Ratings = readRatings(f, was.Ratings, shown)
	it.RetireRule = readRule(f, was.RetireRule, shown)
	var bolts []int
	it.Fixing, bolts = readFixing(f, was.Fixing, shown)
	for _, p := range it.Check() {
		if !strings.HasPrefix(p.Path, "ratings#") { // said in their rows
			f.refuse(fieldOf(p.Path, bolts), sentence(p.Text))
		}
	}
	return it
}

func readDate(f *sheet, name string) gear.Date {
	d := gear.Date(f.typed(name))
	if d != "" && !d.Known() {
		f.refuse(name, text("field.date", d))
	}
	return d
}

// readCount reads a whole number above zero; empty is nil.
func readCount(f *sheet, name string) *int {
	if f.typed(name) == "" {
		return nil
	}
	n := f.count(name, 1, 1_000_000, 0)
	return &n
}

// readWord reads one word of a list; empty is none.
func readWord(f *sheet, name string, into encoding.TextUnmarshaler) {
	if t := f.typed(name); t != "" {
		if err := into.UnmarshalText([]byte(t)); err != nil {
			f.refuse(name, sentence(err.Error()))
		}
	}
}

// readRatings reads the rows of ratings; one without a value is left out.
func readRatings(f *sheet, was []gear.Rating, shown map[string]string) []gear.Rating {
	var out []gear.Rating
	for i := 1; i <= f.rows("ratings", 1); i++ {
		n := func(name string) string { return nth("r", i, name) }
		if f.typed(n("value")) == "" {
			if f.typed(n("basis"))+f.typed(n("stamp")) != "" {
				f.refuse(n("value"), text("field.norating"))
			}
			continue
		}
		var old gear.Rating
		if i <= len(was) {
			old = was[i-1]
		}
		var r gear.Rating
		if v := known(f, shown, n("value"), "force", unit.ParseStamped, above, &old.Value); v != nil {
			r.Value = *v
		}
		readWord(f, n("basis"), &r.Basis)
		if r.Basis == "" {
			f.refuse(n("basis"), text("field.basis"))
		}
		r.DesignFactor = known(f, shown, n("factor"), text("page.gear.read.design-factor"), plain, above, old.DesignFactor)
		readWord(f, n("from"), &r.FactorFrom)
		readWord(f, n("together"), &r.Together)
		if r.Direction = old.Direction; f.typed(n("direction")) != shown[n("direction")] {
			r.Direction = gear.Direction{}
			readDirection(f, n("direction"), &r.Direction)
		}
		r.Stamp = f.typed(n("stamp"))
		f.refuseOf(r.Check(), func(path string) string { return n(ratingField(path)) })
		out = append(out, r)
	}
	return out
}

// refuseOf says each problem beside its field.
func (s *sheet) refuseOf(ps []gear.Problem, field func(path string) string) {
	for _, p := range ps {
		s.refuse(field(p.Path), sentence(p.Text))
	}
}

func readDirection(f *sheet, name string, d *gear.Direction) {
	if t := f.typed(name); t != "" {
		if err := d.UnmarshalText([]byte(t)); err != nil {
			f.refuse(name, sentence(err.Error()))
		}
	}
}

func readRule(f *sheet, was *gear.RetireRule, shown map[string]string) *gear.RetireRule {
	var old gear.RetireRule
	if was != nil {
		old = *was
	}
	r := gear.RetireRule{
		MaxAge:   known(f, shown, "max-age", "age", plain, above, old.MaxAge),
		MaxPulls: readCount(f, "max-pulls"),
		MaxPeak:  known(f, shown, "max-peak", "share", unit.ParseShare, above, old.MaxPeak),
		By:       readDate(f, "by"), Notes: f.typed("rule-notes"),
	}
	if r == (gear.RetireRule{}) {
		return nil
	}
	return &r
}

// readFixing reads how a point is held, and in which rows of the form its groups
// of bolts stand.
func readFixing(f *sheet, was *gear.Fixing, shown map[string]string) (*gear.Fixing, []int) {
	var x gear.Fixing
	var rows []int
	if was != nil {
		x.Proofs = was.Proofs
	}
	x.Member = f.typed("member")
	readWord(f, "engineered", &x.Engineered)
	readWord(f, "tested", &x.Tested)
	var plate gear.Plate
	if was != nil && was.Plate != nil {
		plate = *was.Plate
	}
	plate.Thickness = known(f, shown, "plate", "thickness", unit.ParseLength, above, plate.Thickness)
	plate.Steel = ""
	readWord(f, "steel", &plate.Steel)
	if plate != (gear.Plate{}) {
		x.Plate = &plate
	}
	for i := 1; i <= f.rows("bolts", 1); i++ {
		var old gear.Bolts
		if was != nil && i <= len(was.Bolts) {
			old = was.Bolts[i-1]
		}
		if b, any := readBolts(f, i, old, shown); any {
			x.Bolts, rows = append(x.Bolts, b), append(rows, i)
		}
	}
	if x.Member == "" && x.Engineered == "" && x.Tested == "" && x.Plate == nil && len(x.Bolts)+len(x.Proofs) == 0 {
		return nil, nil
	}
	return &x, rows
}

// readBolts reads a group of bolts; false where nothing stands in it.
func readBolts(f *sheet, i int, old gear.Bolts, shown map[string]string) (gear.Bolts, bool) {
	n := func(name string) string { return nth("b", i, name) }
	b := old
	b.Count = f.count(n("count"), 1, 100, 0)
	b.Size, b.Class, b.Plane, b.Axis = "", "", "", ""
	readWord(f, n("size"), &b.Size)
	readWord(f, n("class"), &b.Class)
	readWord(f, n("plane"), &b.Plane)
	readWord(f, n("axis"), &b.Axis)
	for name, v := range boltLengths(&b) {
		*v = known(f, shown, n(name), "length", unit.ParseLength, above, *v)
	}
	return b, b != (gear.Bolts{})
}

// ratingField is the field for a key of a rating.
func ratingField(key string) string {
	switch key {
	case "design_factor":
		return "factor"
	case "factor_from":
		return "from"
	}
	return key
}

var ofBolts = regexp.MustCompile(`^mounting\.bolts#(\d+)\.(\w+)$`)

// fieldOf is the field beside which a problem of an item is said. Its groups of
// bolts stand in those rows of the form.
func fieldOf(path string, bolts []int) string {
	key, _, _ := strings.Cut(path, ".")
	last := path[strings.LastIndex(path, ".")+1:]
	switch key {
	case "name", "kind", "length", "mass", "stiffness":
		return key
	case "retire_rule":
		return map[string]string{"max_age_years": "max-age", "max_pulls": "max-pulls", "max_peak_of_mbs": "max-peak", "by": "by"}[last]
	case "inspect_every_months":
		return "every"
	case "mounting":
		if m := ofBolts.FindStringSubmatch(path); m != nil {
			if n, err := strconv.Atoi(m[1]); err == nil && n <= len(bolts) {
				return nth("b", bolts[n-1], boltField(m[2]))
			}
		}
		if last == "thickness" {
			return "plate"
		}
		return "member"
	}
	return "name"
}

// boltField is the field for a key of a group of bolts.
func boltField(key string) string {
	switch key {
	case "thread_pitch":
		return "pitch"
	case "lever_arm":
		return "lever"
	case "rows_apart":
		return "rows"
	case "end_distance":
		return "end"
	case "edge_distance":
		return "edge"
	case "spacing_across":
		return "gauge"
	}
	return key
}
