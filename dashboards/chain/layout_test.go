package chain_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
)

// area is a rectangle of a drawing.
type area struct {
	what           string
	x0, y0, x1, y1 float64
}

func (a area) meets(b area) bool {
	const touch = 0.6 // roundings, and the width of a hair line
	return a.x0 < b.x1-touch && b.x0 < a.x1-touch && a.y0 < b.y1-touch && b.y0 < a.y1-touch
}

// layout is what a drawing consists of, read back from it.
type layout struct {
	width, height  float64
	texts, bodies  []area
	ropes, pointer []area // straight lines, as the area that they span
}

var numbers = regexp.MustCompile(`-?\d+(\.\d+)?`)

// corners gives the points of a path, curves by their ends.
func corners(t require.TestingT, d string) (xy [][2]float64) {
	for _, m := range regexp.MustCompile(`([MLHVCAZ])([^MLHVCAZ]*)`).FindAllStringSubmatch(d, -1) {
		var v []float64
		for _, n := range numbers.FindAllString(m[2], -1) {
			v = append(v, number(t, n))
		}
		switch m[1] {
		case "H":
			xy = append(xy, [2]float64{v[0], xy[len(xy)-1][1]})
		case "V":
			xy = append(xy, [2]float64{xy[len(xy)-1][0], v[0]})
		case "A":
			from := xy[len(xy)-1]
			if math.Abs(v[5]-from[0]) > 2*v[0]-0.2 { // half an ellipse
				xy = append(xy, [2]float64{(from[0] + v[5]) / 2, from[1] - v[1]}, [2]float64{(from[0] + v[5]) / 2, from[1] + v[1]})
			}
			xy = append(xy, [2]float64{v[5], v[6]})
		case "M", "L", "C":
			xy = append(xy, [2]float64{v[len(v)-2], v[len(v)-1]})
		}
	}
	return xy
}

func around(what string, xy [][2]float64) area {
	a := area{what, math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range xy {
		a.x0, a.x1 = math.Min(a.x0, p[0]), math.Max(a.x1, p[0])
		a.y0, a.y1 = math.Min(a.y0, p[1]), math.Max(a.y1, p[1])
	}
	return a
}

// turned is an area after a quarter turn around its middle.
func (a area) turned() area {
	mx, my, w, h := (a.x0+a.x1)/2, (a.y0+a.y1)/2, a.x1-a.x0, a.y1-a.y0
	return area{a.what, mx - h/2, my - w/2, mx + h/2, my + w/2}
}

func read(t require.TestingT, svg string) (l layout) {
	d := xml.NewDecoder(strings.NewReader(svg))
	attr := map[string]string{}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return l
		}
		require.NoError(t, err)
		switch el := tok.(type) {
		case xml.StartElement:
			attr = map[string]string{"": el.Name.Local}
			for _, a := range el.Attr {
				attr[a.Name.Local] = a.Value
			}
			switch {
			case el.Name.Local == "svg":
				box := strings.Fields(attr["viewBox"])
				l.width, l.height = number(t, box[2]), number(t, box[3])
			case el.Name.Local == "path" && attr["class"] == "goes-on":
				at := corners(t, attr["d"])
				for i := range at[1:] {
					l.ropes = append(l.ropes, around("line to the next row", at[i:i+2]))
				}
			case el.Name.Local == "path" && attr["class"] == "pointer":
				l.pointer = append(l.pointer, around("pointer", corners(t, attr["d"])))
			case el.Name.Local == "path" && attr["stroke-linejoin"] == "round" && len(attr["stroke-width"]) == 1: // details are thinner
				body := around("body", corners(t, attr["d"]))
				if attr["transform"] != "" {
					body = body.turned()
				}
				l.bodies = append(l.bodies, body)
			case el.Name.Local == "path" && attr["fill"] == "none" && attr["stroke-width"] == "2.5":
				for _, part := range strings.Split(attr["d"], "M")[1:] {
					l.ropes = append(l.ropes, around("rope", corners(t, "M"+part)))
				}
			}
		case xml.CharData:
			if attr[""] != "text" || strings.TrimSpace(string(el)) == "" {
				continue
			}
			size := number(t, attr["font-size"])
			x, y, w := number(t, attr["x"]), number(t, attr["y"]), chain.Span(string(el), size)
			if attr["text-anchor"] == "middle" {
				x -= w / 2
			}
			l.texts = append(l.texts, area{string(el), x, y - 0.76*size, x + w, y + 0.2*size})
		}
	}
}

// laidOut checks that a drawing can be read: every text whole, inside and
// clear of every other and of what is drawn, and the line to the sentence
// through nothing.
func laidOut(t require.TestingT, svg string) {
	l := read(t, svg)
	assert.NotContains(t, svg, "…")
	var solid []area
	solid = append(append(append(solid, l.bodies...), l.ropes...), l.pointer...)
	for i, a := range l.texts {
		assert.True(t, a.x0 >= 0 && a.x1 <= l.width+0.6 && a.y0 >= 0 && a.y1 <= l.height, "%v outside of %v × %v", a, l.width, l.height)
		for _, b := range l.texts[:i] {
			assert.False(t, a.meets(b), "%v over %v", a, b)
		}
		for _, b := range solid {
			if b.what == "rope" && b.x0 != b.x1 && b.y0 != b.y1 {
				continue // a slanting line does not fill its area
			}
			assert.False(t, a.meets(thick(b)), "%v over %v", a, b)
		}
	}
	for _, p := range l.pointer {
		for _, b := range append(append([]area{}, l.bodies...), l.ropes...) {
			if b.what == "rope" && b.x0 != b.x1 && b.y0 != b.y1 {
				b.x0, b.x1 = b.x0+2, b.x1-2 // where legs part, beside the items
			}
			assert.False(t, thick(p).meets(thick(b)), "the line to the sentence %v through %v", p, b)
		}
	}
	for i, a := range l.bodies {
		for _, b := range l.bodies[:i] {
			assert.False(t, a.meets(b), "%v over %v", a, b)
		}
	}
}

// thick gives a straight line a width.
func thick(a area) area {
	if a.x1-a.x0 < 1 {
		a.x0, a.x1 = a.x0-0.7, a.x1+0.7
	}
	if a.y1-a.y0 < 1 {
		a.y0, a.y1 = a.y0-0.7, a.y1+0.7
	}
	return a
}

var forms = []chain.Form{chain.Wide, chain.Paper, chain.Tall, chain.Mini}

// saying lets an item be the weakest, with a sentence of some length.
func saying(res rating.Result, i int, reason string) *rating.Result {
	items := append([]rating.Item{}, res.Items...)
	items[0], items[i] = items[i], items[0]
	items[0].Reason = reason
	items[0].Verdict = rating.OverBreaking
	for j := range items[1:] {
		items[j+1].Verdict = rating.Inside
	}
	res.Items = items
	return &res
}

const reason = "It carried 40.56 kN (true load 40.51 to 40.60), 118 % of its limit of 34.3 kN (stamped number, basis unknown), and 140 % of that at the upper end, if the bridle did not share equally; the pair together is rated to 49 kN up to 45°."

// TestEveryRigIsLaidOut draws the rigs of the manual and those above, with
// each of their items as the weakest in turn.
func TestEveryRigIsLaidOut(t *testing.T) {
	t.Parallel()
	rigs := map[string]rig.Rig{"bridled": bridled(), "winched": winched(), "long": long(), "bent": bent()}
	files, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".json")
		rigs[name] = example(t, name)
	}
	for name, r := range rigs {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			everyItemWeakest(t, r, reason)
		})
	}
}

func everyItemWeakest(t require.TestingT, r rig.Rig, reason string) {
	for _, f := range forms {
		laidOut(t, draw(t, r, nil, chain.Options{Form: f, Reading: "40.56 kN"}))
	}
	res, err := rating.Judge(rating.Peak{Value: 30e3, Low: 29e3, High: 32e3}, r, unit.Kilonewton)
	if err != nil { // a rig with two cells: the part on the side of the first
		cells := r.Cells()
		require.NotEmpty(t, cells, "%v", err)
		res, err = rating.JudgeRead(rating.Reading{Cell: cells[0].Name, Peak: rating.Peak{Value: 30e3, Low: 29e3, High: 32e3}}, nil, r, unit.Kilonewton)
		require.NoError(t, err)
	}
	for i := range res.Items {
		told := saying(res, i, reason)
		for _, f := range forms {
			svg := draw(t, r, told, chain.Options{Form: f})
			laidOut(t, svg)
			if f != chain.Mini {
				said := strings.Join(regexp.MustCompile(`<text[^>]*>([^<]*)</text>`).FindAllString(svg, -1), " ")
				said = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(said, "")
				assert.Contains(t, strings.ReplaceAll(said, " ", ""), strings.ReplaceAll(reason, " ", ""), "the whole sentence")
			}
		}
	}
}

// TestAnyRigIsLaidOut draws rigs of any make, with names and sentences of any
// length.
func TestAnyRigIsLaidOut(t *testing.T) {
	t.Parallel()
	word := rapid.StringOfN(rapid.RuneFrom([]rune("abcdefghijklmnopqrstuvwxyzMWäß語0123456789-")), 1, 30, -1)
	rapid.Check(t, func(t *rapid.T) {
		kinds := []gear.Kind{gear.RecoveryPoint, gear.Mounting, gear.BowShackle, gear.SoftShackle, gear.RecoveryStrap, gear.KineticRope, gear.Ring, gear.Hook, gear.Chain}
		n := 0
		use := func(k gear.Kind) rig.Use {
			n++
			u := item(fmt.Sprintf("%d %s", n, strings.Join(rapid.SliceOfN(word, 1, 6).Draw(t, "name"), " ")), k, 50)
			return u
		}
		uses := func(least, most int) (out []rig.Use) {
			for range rapid.IntRange(least, most).Draw(t, "items") {
				out = append(out, use(rapid.SampledFrom(kinds).Draw(t, "kind")))
			}
			return out
		}
		links := func(least int) (out []rig.Link) {
			for _, u := range uses(least, 8) {
				out = append(out, rig.Link{Use: &u})
			}
			return out
		}
		cell := use(gear.LoadCell)
		r := rig.Rig{Name: "any", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: rapid.SampledFrom([]string{"Otter", "the long-wheelbase carrier of the second section"}).Draw(t, "stuck")}}
		r.Chain = append(links(0), rig.Link{Use: &cell})
		switch rapid.SampledFrom([]string{"bridle", "tackle", "redirect"}).Draw(t, "link") {
		case "bridle":
			strap := use(gear.Bridle)
			r.Chain = append(append(r.Chain, links(0)...), rig.Link{Bridle: &rig.Bridle{Included: unit.Degrees(60), Strap: &strap, Left: uses(1, 3), Right: uses(1, 3)}})
		case "redirect":
			r.Chain = append(append([]rig.Link{{Redirect: &rig.Redirect{Included: unit.Degrees(90), Block: append([]rig.Use{use(gear.Block)}, uses(0, 3)...)}}}, r.Chain...), links(1)...)
		case "tackle":
			parts := rapid.IntRange(2, 6).Draw(t, "parts")
			tk := &rig.Tackle{Parts: parts, Fall: []rig.Use{use(gear.Winch), use(gear.WinchRope)}, Dead: uses(1, 2)}
			for range parts - 1 {
				tk.Sheaves = append(tk.Sheaves, append([]rig.Use{use(gear.Block)}, uses(0, 2)...))
			}
			r.Chain = append(r.Chain, rig.Link{Tackle: tk})
		}
		res := rating.Result{Peak: rating.Peak{Value: 47300}}
		for _, ref := range refs(r) {
			res.Items = append(res.Items, of(ref, rating.Inside, rapid.Float64Range(0.01, 20).Draw(t, "share"), ""))
		}
		reason := strings.Join(rapid.SliceOfN(word, 1, 40).Draw(t, "reason"), " ")
		told := saying(res, rapid.IntRange(0, len(res.Items)-1).Draw(t, "weakest"), reason)
		for _, f := range forms {
			laidOut(t, draw(t, r, told, chain.Options{Form: f}))
			laidOut(t, draw(t, r, nil, chain.Options{Form: f}))
		}
	})
}

// refs are the places of a rig, as verdicts name them.
func refs(r rig.Rig) (out []string) {
	list := func(ref string, uses []rig.Use) {
		for i := range uses {
			out = append(out, fmt.Sprintf("%s.%d", ref, i+1))
		}
	}
	for i, l := range r.Chain {
		ref := fmt.Sprint(i + 1)
		switch {
		case l.Use != nil:
			out = append(out, ref)
		case l.Bridle != nil:
			out = append(out, ref+".strap")
			list(ref+".left", l.Bridle.Left)
			list(ref+".right", l.Bridle.Right)
		case l.Redirect != nil:
			list(ref+".block", l.Redirect.Block)
		case l.Tackle != nil:
			list(ref+".fall", l.Tackle.Fall)
			for j, s := range l.Tackle.Sheaves {
				list(fmt.Sprintf("%s.sheave%d", ref, j+1), s)
			}
			list(ref+".dead", l.Tackle.Dead)
		}
	}
	return out
}

// TestSpanIsThatOfTheFont compares the widths that the drawing reckons with
// with those in the file of the widest font.
func TestSpanIsThatOfTheFont(t *testing.T) {
	t.Parallel()
	data, err := os.ReadFile("/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf")
	if err != nil {
		t.Skip("no DejaVu Sans Bold: apt-get install fonts-dejavu-core")
	}
	f, err := sfnt.Parse(data)
	require.NoError(t, err)
	var buf sfnt.Buffer
	for r := ' '; r <= '~'; r++ {
		glyph, err := f.GlyphIndex(&buf, r)
		require.NoError(t, err)
		wide, err := f.GlyphAdvance(&buf, glyph, fixed.I(1000), font.HintingNone)
		require.NoError(t, err)
		assert.InDelta(t, float64(wide)/64, chain.Span(string(r), 1000), 10, "%q", r)
		assert.LessOrEqual(t, float64(wide)/64, chain.Span(string(r), 1000)+0.01, "%q", r)
	}
}
