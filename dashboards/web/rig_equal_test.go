package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// ctxOf is the context of a test, or of a property that has none.
func ctxOf(t require.TestingT) context.Context {
	if c, ok := t.(interface{ Context() context.Context }); ok {
		return c.Context()
	}
	return context.Background()
}

// pool is the register that random rigs are made of.
func pool() (out []gear.Item) {
	for i, k := range []gear.Kind{gear.RecoveryPoint, gear.BowShackle, gear.SoftShackle, gear.RecoveryStrap, gear.Block, gear.Ring, gear.TreeStrap, gear.Winch, gear.LoadCell, gear.Bridle} {
		out = append(out, gear.Item{ID: "k" + strconv.Itoa(i), Name: fmt.Sprintf("%s %d", k, i), Kind: k, Ratings: []gear.Rating{{Value: unit.Force(1000 * (i + 1)), Basis: gear.WLL}}})
	}
	return out
}

// drawUse is an item of the pool, hung at any angle.
func drawUse(t *rapid.T, name string) rig.Use {
	u := rig.Use{Item: rapid.SampledFrom(pool()).Draw(t, name)}
	if u.Item.Kind == gear.BowShackle {
		u.Seat = rapid.SampledFrom([]rig.Seat{rig.SeatUnknown, rig.FreeSeat, rig.BoundSeat}).Draw(t, name+" seat")
	}
	if u.Seat != rig.FreeSeat {
		u.OffAxis = drawOff(t, name)
	}
	return u
}

func drawOff(t *rapid.T, name string) *rig.OffAxis {
	o := rig.OffAxis{Vertical: drawAngle(t, name+" up", 90)}
	if o.FullTurn = rapid.Bool().Draw(t, name+" turned"); !o.FullTurn {
		o.Horizontal = drawAngle(t, name+" side", 180)
	}
	if o == (rig.OffAxis{}) {
		return nil
	}
	return &o
}

// drawAngle is an angle as people write one, or none.
func drawAngle(t *rapid.T, name string, most int) *unit.Angle {
	tenths := rapid.IntRange(-10*most-1, 10*most).Draw(t, name)
	if tenths < -10*most {
		return nil
	}
	a, err := unit.ParseAngle(strconv.FormatFloat(float64(tenths)/10, 'f', -1, 64) + "deg")
	require.NoError(t, err)
	return &a
}

func drawUses(t *rapid.T, name string) []rig.Use {
	out := []rig.Use{}
	for i := range rapid.IntRange(0, 2).Draw(t, name) {
		out = append(out, drawUse(t, name+strconv.Itoa(i)))
	}
	return out
}

func drawBridle(t *rapid.T, name string) rig.Link {
	b := &rig.Bridle{Equaliser: rapid.Bool().Draw(t, name+" shares"), OffAxis: drawOff(t, name), Left: drawUses(t, name+" left"), Right: drawUses(t, name+" right")}
	b.Included, _ = unit.ParseAngle(strconv.Itoa(rapid.IntRange(0, 179).Draw(t, name)) + "deg")
	if rapid.Bool().Draw(t, name+" strap") {
		u := drawUse(t, name+" strap item")
		u.Item = pool()[9]
		u.Seat = ""
		b.Strap = &u
	}
	return rig.Link{Bridle: b}
}

func drawLoss(t *rapid.T) *float64 {
	v, err := unit.ParseShare(strconv.Itoa(rapid.IntRange(0, 99).Draw(t, "loss")) + "%")
	require.NoError(t, err)
	if rapid.Bool().Draw(t, "loss known") {
		return &v
	}
	return nil
}

// drawRig is a rig of any shape; whether it can be judged does not matter.
func drawRig(t *rapid.T) rig.Rig {
	g := rig.Rig{Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: []rig.Link{}, Notes: rapid.SampledFrom([]string{"", "two\nlines"}).Draw(t, "notes")}
	g.WinchAt = rapid.SampledFrom([]rig.Side{"", rig.PullingEnd, rig.StuckEnd}).Draw(t, "winch")
	if rapid.Bool().Draw(t, "first bridle") {
		g.Chain = append(g.Chain, drawBridle(t, "first"))
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "links") {
		name := "link" + strconv.Itoa(i)
		switch rapid.IntRange(0, 3).Draw(t, name) {
		case 0:
			a, _ := unit.ParseAngle(strconv.Itoa(rapid.IntRange(0, 180).Draw(t, name+" bend")) + "deg")
			g.Chain = append(g.Chain, rig.Link{Redirect: &rig.Redirect{Included: a, Loss: drawLoss(t), Block: append(drawUses(t, name+" block"), drawUse(t, name+" anchor"))}})
		case 1:
			tk := &rig.Tackle{Parts: rapid.IntRange(2, 4).Draw(t, name+" parts"), Loss: drawLoss(t), Fall: drawUses(t, name+" fall"), Dead: append(drawUses(t, name+" dead"), drawUse(t, name+" end"))}
			for range tk.Parts - 1 {
				tk.Sheaves = append(tk.Sheaves, drawUses(t, name+" sheave"))
			}
			g.Chain = append(g.Chain, rig.Link{Tackle: tk})
		default:
			u := drawUse(t, name)
			g.Chain = append(g.Chain, rig.Link{Use: &u})
		}
	}
	if rapid.Bool().Draw(t, "last bridle") {
		g.Chain = append(g.Chain, drawBridle(t, "last"))
	}
	return g
}

// hang puts a list of items where they hang, and notes their fields.
func (b *builder) hang(list string, uses []rig.Use, fields map[string]string) {
	for i, u := range uses {
		ref := fmt.Sprintf("%s.%d", list, i+1)
		b.press(200, "put", map[string]string{"put-where": ref, "put-item": u.Item.ID, "put-what": ""})
		hung(ref, u, fields)
	}
}

func hung(ref string, u rig.Use, fields map[string]string) {
	p := "p" + strings.ReplaceAll(ref, ".", "-") + "-"
	fields[p+"seat"] = string(u.Seat)
	off(p, u.OffAxis, fields)
}

func off(p string, o *rig.OffAxis, fields map[string]string) {
	if o == nil {
		return
	}
	if o.Horizontal != nil {
		fields[p+"h"] = degs(*o.Horizontal)
	}
	if o.Vertical != nil {
		fields[p+"v"] = degs(*o.Vertical)
	}
	if o.FullTurn {
		fields[p+"turn"] = "yes"
	}
}

// degs is an angle as it was drawn, in tenths of a degree.
func degs(a unit.Angle) string { return strconv.FormatFloat(a.Degrees(), 'f', 1, 64) + "deg" }

func percent(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(100**v, 'f', 0, 64) + "%"
}

// assemble puts a rig together in the form, link by link, and types its angles
// last.
func (b *builder) assemble(g rig.Rig) {
	fields := map[string]string{"notes": g.Notes, "winch": string(g.WinchAt)}
	for i, l := range g.Chain {
		n := strconv.Itoa(i + 1)
		switch {
		case l.Use != nil:
			b.press(200, "put", map[string]string{"put-where": n, "put-item": l.Item.ID, "put-what": ""})
			hung(n, *l.Use, fields)
		case l.Bridle != nil:
			b.press(200, "put", map[string]string{"put-where": n, "put-what": "bridle", "put-angle": degs(l.Bridle.Included)})
			if l.Bridle.Strap != nil {
				b.press(200, "put", map[string]string{"put-where": n + ".strap.1", "put-item": l.Bridle.Strap.Item.ID, "put-what": ""})
				hung(n+".strap", *l.Bridle.Strap, fields)
			}
			b.hang(n+".left", l.Bridle.Left, fields)
			b.hang(n+".right", l.Bridle.Right, fields)
			fields["p"+n+"-equaliser"] = map[bool]string{true: "yes"}[l.Bridle.Equaliser]
			off("p"+n+"-", l.Bridle.OffAxis, fields)
		case l.Redirect != nil:
			b.press(200, "put", map[string]string{"put-where": n, "put-what": "redirect", "put-angle": degs(l.Redirect.Included)})
			b.hang(n+".block", l.Redirect.Block, fields)
			fields["p"+n+"-loss"] = percent(l.Redirect.Loss)
		case l.Tackle != nil:
			b.press(200, "put", map[string]string{"put-where": n, "put-what": "tackle", "put-parts": strconv.Itoa(l.Tackle.Parts)})
			b.hang(n+".fall", l.Tackle.Fall, fields)
			for j, s := range l.Tackle.Sheaves {
				b.hang(n+".sheave"+strconv.Itoa(j+1), s, fields)
			}
			b.hang(n+".dead", l.Tackle.Dead, fields)
			fields["p"+n+"-loss"] = percent(l.Tackle.Loss)
		}
	}
	b.press(200, "look", fields)
}

// TestFormAndTextMakeTheSameRig: whatever rig is put together in the form is
// the one that its text makes, and a form that is kept as it was opened changes
// nothing.
func TestFormAndTextMakeTheSameRig(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.shelve(t, pool()...)
	token, n := f.token(t), 0
	rapid.Check(t, func(t *rapid.T) {
		g := drawRig(t)
		n++
		g.Name = fmt.Sprint("as text ", n)
		var b bytes.Buffer
		require.NoError(t, rig.Encode(&b, g))
		res := f.ask("POST", "/rigs/new/text", url.Values{"token": {token}, "do": {"keep"}, "rig": {b.String()}}, nil)
		require.Equal(t, http.StatusSeeOther, res.StatusCode, bodyOf(t, res))
		byText, err := f.store.RigByName(ctxOf(t), g.Name)
		require.NoError(t, err)

		form := f.building(t, "/rigs/new")
		form.press(200, "look", map[string]string{"name": fmt.Sprint("in the form ", n), "pulling": "Heron", "stuck": "Otter"})
		form.assemble(g)
		made := form.keep().Value
		made.Name = g.Name
		assert.Equal(t, asText(t, byText.Value), asText(t, made))

		again := f.building(t, fmt.Sprintf("/rigs/%d/edit", byText.ID))
		assert.Equal(t, byText.Version, again.keep().Version, "kept as it was opened")
	})
}

func asText(t require.TestingT, v any) string {
	b, err := json.MarshalIndent(v, "", " ")
	require.NoError(t, err)
	return string(b)
}
