package web

import (
	"context"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// pf is the name of the field of a place of a rig: of its Ref and what it
// holds.
func pf(ref, name string) string { return "p" + strings.ReplaceAll(ref, ".", "-") + "-" + name }

// rigTyped is a rig as it would be typed into its form. What a link is stands
// there too, for the comparison of two versions, but in no field.
func rigTyped(g *rig.Rig) map[string]string {
	out := map[string]string{"name": g.Name, "pulling": g.Pulling.Name, "stuck": g.Stuck.Name, "winch": string(g.WinchAt), "id": g.ID, "notes": g.Notes}
	for i := range g.Chain {
		l, ref := &g.Chain[i], strconv.Itoa(i+1)
		out[pf(ref, "link")] = linkKind(l)
		switch {
		case l.Bridle != nil:
			out[pf(ref, "included")], out[pf(ref, "equaliser")] = typedAngle(&l.Bridle.Included), yesNo(l.Bridle.Equaliser)
			typedOffAxis(out, ref, l.Bridle.OffAxis)
		case l.Redirect != nil:
			out[pf(ref, "included")], out[pf(ref, "loss")] = typedAngle(&l.Redirect.Included), typedOf(l.Redirect.Loss, "%", 100)
		case l.Tackle != nil:
			out[pf(ref, "parts")], out[pf(ref, "loss")] = strconv.Itoa(l.Tackle.Parts), typedOf(l.Tackle.Loss, "%", 100)
		}
		for _, p := range placesOf(l, ref) {
			out[pf(p.Ref, "item")] = p.Use.Item.Name
			out[pf(p.Ref, "seat")] = string(p.Use.Seat)
			typedOffAxis(out, p.Ref, p.Use.OffAxis)
		}
	}
	return out
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// typedAngle is an angle in degrees; empty where it is not known.
func typedAngle(a *unit.Angle) string {
	if a == nil {
		return ""
	}
	return strconv.FormatFloat(a.Degrees(), 'g', 6, 64) + "deg"
}

func typedOffAxis(out map[string]string, ref string, o *rig.OffAxis) {
	if o == nil {
		o = &rig.OffAxis{}
	}
	out[pf(ref, "h")], out[pf(ref, "v")], out[pf(ref, "turn")] = typedAngle(o.Horizontal), typedAngle(o.Vertical), yesNo(o.FullTurn)
}

// reader reads a form over the rig as it was: what the form does not show
// stays, and so does what was left as it was shown.
type reader struct {
	s     *server
	f     *sheet
	shown map[string]string
}

// readRig gives the rig that a form says. Fields that were not sent stay as
// they were.
func (s *server) readRig(ctx context.Context, f *sheet, was rig.Rig) (rig.Rig, error) {
	g, err := copyOf(was)
	if err != nil {
		return g, err
	}
	x := reader{s: s, f: f, shown: rigTyped(&was)}
	f.q = withUnsent(f.q, x.shown)
	g.Name, g.Notes, g.ID = f.typed("name"), f.typed("notes"), f.typed("id")
	g.WinchAt = ""
	readWord(f, "winch", &g.WinchAt)
	if err := x.vehicle(ctx, "pulling", &g.Pulling); err != nil {
		return g, err
	}
	if err := x.vehicle(ctx, "stuck", &g.Stuck); err != nil {
		return g, err
	}
	for i := range g.Chain {
		if err := x.link(ctx, strconv.Itoa(i+1), &g.Chain[i]); err != nil {
			return g, err
		}
	}
	x.refuseNew(was, g)
	return g, nil
}

// withUnsent is a form with what it was shown with in the fields that it does
// not have.
func withUnsent(q url.Values, shown map[string]string) url.Values {
	out := url.Values{}
	for name, v := range shown {
		out.Set(name, v)
	}
	for name, v := range q {
		out[name] = v
	}
	return out
}

// vehicle reads what stands at an end: the vehicle of that name as the
// register has it, or a name alone.
func (x reader) vehicle(ctx context.Context, field string, v *gear.Vehicle) error {
	name := x.f.typed(field)
	if name == x.shown[field] {
		return nil
	}
	d, found, err := x.s.vehicleNamed(ctx, name)
	if found {
		*v = d.Value
	} else {
		*v = gear.Vehicle{Name: name}
	}
	return err
}

// vehicleNamed finds a vehicle of the register by its whole name.
func (s *server) vehicleNamed(ctx context.Context, name string) (store.Document[gear.Vehicle], bool, error) {
	docs, err := s.Store.FindVehicles(ctx, store.Find{Text: name})
	for _, d := range docs {
		if d.Value.Name == name {
			return d, true, nil
		}
	}
	return store.Document[gear.Vehicle]{}, false, err
}

func (x reader) link(ctx context.Context, ref string, l *rig.Link) error {
	switch {
	case l.Bridle != nil:
		b := l.Bridle
		b.Included = x.included(ref, b.Included)
		b.Equaliser = x.f.typed(pf(ref, "equaliser")) == "yes"
		b.OffAxis = x.offAxis(ref, b.OffAxis)
	case l.Redirect != nil:
		l.Redirect.Included = x.included(ref, l.Redirect.Included)
		l.Redirect.Loss = known(x.f, x.shown, pf(ref, "loss"), "loss", unit.ParseShare, notBelow, l.Redirect.Loss)
	case l.Tackle != nil:
		l.Tackle.Loss = known(x.f, x.shown, pf(ref, "loss"), "loss", unit.ParseShare, notBelow, l.Tackle.Loss)
		x.parts(ref, l.Tackle)
	}
	for _, p := range placesOf(l, ref) {
		if err := x.use(ctx, p); err != nil {
			return err
		}
	}
	return nil
}

// included reads the angle of a bridle or redirect, which has no rest value.
func (x reader) included(ref string, now unit.Angle) unit.Angle {
	v := known(x.f, x.shown, pf(ref, "included"), "angle", unit.ParseAngle, any0, &now)
	if v == nil {
		x.f.refuse(pf(ref, "included"), text("field.empty", quantityWords("angle"), "60deg"))
		return now
	}
	return *v
}

// parts reads the number of line parts; sheaves come and go with it.
func (x reader) parts(ref string, t *rig.Tackle) {
	name := pf(ref, "parts")
	if x.f.typed(name) == x.shown[name] {
		return
	}
	n := x.f.count(name, 2, 16, 0)
	if n == 0 {
		x.f.refuse(name, text("field.parts"))
		return
	}
	t.Parts = n
	for len(t.Sheaves) < n-1 {
		t.Sheaves = append(t.Sheaves, []rig.Use{})
	}
	for len(t.Sheaves) > n-1 {
		last := len(t.Sheaves) - 1
		if len(t.Sheaves[last]) > 0 {
			x.f.refuse(name, text("field.sheave", last+1))
			return
		}
		t.Sheaves = t.Sheaves[:last]
	}
}

func (x reader) use(ctx context.Context, p placed) error {
	p.Use.OffAxis = x.offAxis(p.Ref, p.Use.OffAxis)
	seat := pf(p.Ref, "seat")
	p.Use.Seat = rig.SeatUnknown
	readWord(x.f, seat, &p.Use.Seat)
	name := pf(p.Ref, "item")
	typed := x.f.typed(name)
	if typed == x.shown[name] {
		return nil
	}
	it, among, err := x.s.gearNamed(ctx, typed)
	switch {
	case err != nil:
		return err
	case it != nil:
		p.Use.Item = *it
	case len(among) > 0:
		x.f.refuse(name, text("field.among", typed, keysOf(among)))
	default:
		x.f.refuse(name, text("field.item", typed))
	}
	return nil
}

func (x reader) offAxis(ref string, now *rig.OffAxis) *rig.OffAxis {
	h, v, turn := pf(ref, "h"), pf(ref, "v"), pf(ref, "turn")
	if x.f.typed(h) == x.shown[h] && x.f.typed(v) == x.shown[v] && x.f.typed(turn) == x.shown[turn] {
		return now
	}
	if now == nil {
		now = &rig.OffAxis{}
	}
	o := rig.OffAxis{
		Horizontal: known(x.f, x.shown, h, "angle", unit.ParseAngle, any0, now.Horizontal),
		Vertical:   known(x.f, x.shown, v, "angle", unit.ParseAngle, any0, now.Vertical), FullTurn: x.f.typed(turn) == "yes",
	}
	if o == (rig.OffAxis{}) {
		return nil
	}
	return &o
}

// refuseNew says beside the fields what is wrong with a rig and was not
// before: an old fault elsewhere keeps nobody from taking a link out.
func (x reader) refuseNew(was, now rig.Rig) {
	old := map[gear.Problem]bool{}
	for _, p := range problemsOf(was) {
		old[p] = true
	}
	for _, p := range problemsOf(now) {
		if name := rigField(p.Path); name != "" && !old[p] {
			x.f.refuse(name, sentence(p.Text))
		}
	}
}

var (
	linkPath  = regexp.MustCompile(`^chain#(\d+)`)
	partPath  = regexp.MustCompile(`^\.(?:bridle|redirect|tackle)\b`)
	placePath = regexp.MustCompile(`^\.(strap|left|right|block|fall|dead|sheaves)((?:#\d+)*)`)
)

// rigField is the field beside which a problem of a rig is said; empty where
// there is none.
func rigField(path string) string {
	switch {
	case path == "winch_at":
		return "winch"
	case strings.HasPrefix(path, "pulling."):
		return "pulling"
	case strings.HasPrefix(path, "stuck."):
		return "stuck"
	}
	m := linkPath.FindStringSubmatch(path)
	if m == nil {
		return ""
	}
	ref, rest := m[1], path[len(m[0]):]
	rest = rest[len(partPath.FindString(rest)):]
	if m := placePath.FindStringSubmatch(rest); m != nil {
		rest = rest[len(m[0]):]
		ref += "." + strings.Replace(m[1], "sheaves", "sheave", 1)
		ref += strings.ReplaceAll(strings.Replace(m[2], "#", map[bool]string{true: "", false: "."}[m[1] == "sheaves"], 1), "#", ".")
	}
	if name := map[string]string{".included_angle": "included", ".sheave_loss": "loss", ".parts": "parts", ".seat": "seat", ".off_axis": "h", ".off_axis.horizontal": "h", ".off_axis.vertical": "v"}[rest]; name != "" {
		return pf(ref, name)
	}
	if strings.HasPrefix(rest, ".item") {
		return pf(ref, "item")
	}
	return ""
}
