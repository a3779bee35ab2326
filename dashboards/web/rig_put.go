package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// putForm is the part of a rig's form that puts something into the chain.
type putForm struct {
	Fields []entry
	Forks  group      // what a link that is more than an item wants to know
	Found  []itemView // of which one has to be chosen
	More   bool       // there are more than those
	Said   string     // what the last step did
}

// lookedThrough is how many items a name is looked for among, and mostFound
// how many are offered where it fits several.
const (
	lookedThrough = 200
	mostFound     = 8
)

// gearNamed finds the item of the register that is meant by what was typed: its
// number, its whole name, or words that only one has. Where several have them
// it gives those. A cell that is set up but stands in no register of gear is
// found by its name, with nothing known of it.
func (s *server) gearNamed(ctx context.Context, typed string) (*gear.Item, []store.Document[gear.Item], error) {
	if typed == "" {
		return nil, nil, nil
	}
	d, err := s.Store.ItemByKey(ctx, typed)
	if err == nil {
		return &d.Value, nil, nil
	}
	if !errorsIsNotFound(err) {
		return nil, nil, err
	}
	docs, err := s.Store.FindItems(ctx, store.Find{Text: typed, Limit: lookedThrough, Retired: gear.No})
	if err != nil {
		return nil, nil, err
	}
	if one := onlyOne(docs, typed); one != nil {
		return one, nil, nil
	}
	if len(docs) > 0 {
		return nil, docs, nil
	}
	c, err := s.Store.CellByName(ctx, typed)
	if err == nil {
		return &gear.Item{Name: c.Name, Kind: gear.LoadCell}, nil, nil
	}
	return nil, nil, ignoreMissing(err)
}

// onlyOne is the item that alone was found, or alone has exactly that name.
func onlyOne(docs []store.Document[gear.Item], name string) (one *gear.Item) {
	if len(docs) == 1 {
		return &docs[0].Value
	}
	for i := range docs {
		if docs[i].Value.Name != name {
			continue
		}
		if one != nil {
			return nil
		}
		one = &docs[i].Value
	}
	return one
}

// keysOf names items so that each is told from the others.
func keysOf(docs []store.Document[gear.Item]) string {
	var out []string
	for _, d := range docs[:min(len(docs), mostFound)] {
		say := d.Value.Name
		if d.Value.ID != "" {
			say += " (" + d.Value.ID + ")"
		}
		out = append(out, say)
	}
	return strings.Join(out, ", ")
}

// whatToPut are the links that a chain is made of.
func whatToPut() []option {
	return []option{
		{Label: text("put.item")}, {Value: "bridle", Label: text("put.bridle")},
		{Value: "redirect", Label: text("put.redirect")}, {Value: "tackle", Label: text("put.tackle")},
	}
}

// putForm lists the fields that put something into a rig. Where the register
// does not have what was typed, its kind is asked for.
func (s *server) putForm(ctx context.Context, g *rig.Rig, f *sheet, unknown bool) (v putForm, err error) {
	docs, err := s.Store.FindItems(ctx, store.Find{Limit: lookedThrough, Retired: gear.No})
	if err != nil {
		return v, err
	}
	item := entry{Name: "put-item", Label: text("page.rig.put.put-item"), Hint: text("page.rig.put.put-item.hint"), Long: true}
	seen := map[string]bool{}
	for _, d := range docs {
		if !seen[d.Value.Name] {
			seen[d.Value.Name] = true
			item.Suggest = append(item.Suggest, d.Value.Name)
		}
	}
	fields := []entry{
		{Name: "put-what", Label: text("page.rig.put.put-what"), Choices: whatToPut()}, {Name: "put-where", Label: text("page.rig.put.put-where"), Choices: spotsOf(g)}, item,
	}
	if unknown && (f.wrong["put-item"] != "" || f.typed("put-kind") != "") {
		fields = append(fields, entry{Name: "put-kind", Label: text("page.rig.put.put-kind"), Choices: append([]option{{Label: text("page.rig.put.registered")}}, choices(gear.Kinds())...)})
	}
	v.Fields = f.set(fields...)
	v.Forks = group{Title: text("page.rig.put.fork"), More: true, Fields: f.set(
		entry{Name: "put-angle", Label: text("page.rig.put.put-angle"), Hint: text("page.rig.put.put-angle.hint")},
		entry{Name: "put-parts", Label: text("page.rig.put.put-parts"), Hint: text("page.rig.put.put-parts.hint")},
	)}
	return v, nil
}

// spotsOf lists the spots of a rig at which something can be put in.
func spotsOf(g *rig.Rig) []option {
	out := []option{{Value: "1", Label: text("spot.first", orEnd(g.Pulling.Name, "spot.pulling"))}}
	for i := range g.Chain {
		l, n := &g.Chain[i], strconv.Itoa(i+1)
		out = append(out, strandSpots(l, n)...)
		label := text("spot.after", n+": "+cut(linkWords(l), 60))
		if i == len(g.Chain)-1 {
			label += text("spot.last", orEnd(g.Stuck.Name, "spot.stuck"))
		}
		out = append(out, option{Value: strconv.Itoa(i + 2), Label: label})
	}
	return out
}

func strandSpots(l *rig.Link, n string) (out []option) {
	if l.Bridle != nil && l.Bridle.Strap == nil {
		out = append(out, option{Value: n + ".strap.1", Label: text("spot.strap", n)})
	}
	for _, st := range strandsOf(l) {
		list := n + "." + st.Name
		say := text("spot.in", n, st.Title)
		out = append(out, option{Value: spot{list, 1}.String(), Label: say + text("spot.begin")})
		for i, u := range *st.Uses {
			out = append(out, option{Value: spot{list, i + 2}.String(), Label: say + ", " + text("spot.after", u.Item.Name)})
		}
	}
	return out
}

// orEnd is the name of what stands at an end, or which end it is.
func orEnd(name, end string) string {
	if name == "" {
		return text(end)
	}
	return name
}

// lastSpot is where a chain that is built from its pulling end goes on.
func lastSpot(g *rig.Rig) spot {
	if n := len(g.Chain); n > 0 && g.Chain[n-1].Bridle != nil {
		return spot{strconv.Itoa(n) + ".right", len(g.Chain[n-1].Bridle.Right) + 1}
	}
	return spot{"", len(g.Chain) + 1}
}

// putIn puts what was asked for into a rig, and says where it goes on.
func (s *server) putIn(r *http.Request, f *sheet, g *rig.Rig) (next spot, found []store.Document[gear.Item], err error) {
	it, found, err := s.itemToPut(r.Context(), f)
	if err != nil || !f.good() {
		return next, found, err
	}
	at, ok := spotAt(f.text("put-where"))
	l := linkToPut(f, it)
	if !f.good() {
		return next, nil, nil
	}
	if !ok || !(draft{g}).put(at, l) {
		f.refuse("put-where", text("field.spot"))
		return next, nil, nil
	}
	if l.Use == nil {
		return spot{at.String() + "." + strandsOf(&l)[0].Name, 1 + len(*strandsOf(&l)[0].Uses)}, nil, nil
	}
	if strings.HasSuffix(at.list, ".strap") {
		return spot{strings.TrimSuffix(at.list, "strap") + "left", 1}, nil, nil
	}
	return at.next(), nil, nil
}

// itemToPut is the item that was picked or typed; nil where a link may do
// without.
func (s *server) itemToPut(ctx context.Context, f *sheet) (*gear.Item, []store.Document[gear.Item], error) {
	if id, picked := strings.CutPrefix(f.typed("do"), "pick:"); picked {
		n, err := number(id, text("page.rig.put.an-item"))
		if err != nil {
			return nil, nil, err
		}
		d, err := s.Store.Item(ctx, n)
		return &d.Value, nil, err
	}
	typed := f.typed("put-item")
	if typed == "" {
		if f.typed("put-what") == "" {
			f.refuse("put-item", text("field.puttyped"))
		}
		return nil, nil, nil
	}
	it, found, err := s.gearNamed(ctx, typed)
	switch {
	case err != nil || it != nil:
		return it, nil, err
	case len(found) > 0:
		f.refuse("put-item", text("field.several", typed))
		return nil, found, nil
	}
	if k := gear.Kind(f.typed("put-kind")); k.Known() {
		return &gear.Item{Name: typed, Kind: k}, nil, nil
	}
	f.refuse("put-item", text("field.unknown", typed))
	return nil, nil, nil
}

// linkToPut is a link of the kind that was chosen, with the item in its first
// place.
func linkToPut(f *sheet, it *gear.Item) rig.Link {
	uses := []rig.Use{}
	if it != nil {
		uses = append(uses, rig.Use{Item: *it})
	}
	switch f.typed("put-what") {
	case "bridle":
		b := &rig.Bridle{Included: needed(f, "put-angle", text("page.rig.put.angle.legs"), "60deg", unit.ParseAngle, any0), Left: []rig.Use{}, Right: []rig.Use{}}
		if it != nil {
			b.Strap = &uses[0]
		}
		return rig.Link{Bridle: b}
	case "redirect":
		return rig.Link{Redirect: &rig.Redirect{Included: needed(f, "put-angle", text("page.rig.put.angle.lines"), "90deg", unit.ParseAngle, any0), Block: uses}}
	case "tackle":
		parts := f.count("put-parts", 2, 16, 2)
		if f.typed("put-parts") == "" {
			f.refuse("put-parts", text("field.parts"))
		}
		t := &rig.Tackle{Parts: parts, Fall: uses, Sheaves: make([][]rig.Use, parts-1), Dead: []rig.Use{}}
		for i := range t.Sheaves {
			t.Sheaves[i] = []rig.Use{}
		}
		return rig.Link{Tackle: t}
	}
	return rig.Link{Use: &uses[0]}
}
