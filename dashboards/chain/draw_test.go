package chain_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
)

var update = flag.Bool("update", false, "write the drawings in testdata anew; look at them afterwards")

func item(name string, k gear.Kind, kN float64) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k, Ratings: []gear.Rating{{Value: unit.Force(kN * 1000), Basis: gear.WLL}}}}
}

func inLine(name string, k gear.Kind, kN float64) rig.Link {
	u := item(name, k, kN)
	return rig.Link{Use: &u}
}

// bridled is a kinetic rig whose stuck end has a bridle over two points.
func bridled() rig.Rig {
	strap := item("bridle 3 m", gear.Bridle, 60)
	return rig.Rig{
		Name: "strap and bridle", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"},
		Chain: []rig.Link{
			inLine("rear point of Heron", gear.RecoveryPoint, 50),
			inLine("bow shackle 12", gear.BowShackle, 46.6),
			inLine("River-1", gear.LoadCell, 100),
			inLine("soft shackle 4", gear.SoftShackle, 60),
			inLine("blue strap 9 m", gear.RecoveryStrap, 40),
			{Bridle: &rig.Bridle{Included: unit.Degrees(60), Strap: &strap,
				Left:  []rig.Use{item("bow shackle 7", gear.BowShackle, 31.9), item("front left point", gear.RecoveryPoint, 20)},
				Right: []rig.Use{item("bow shackle 8", gear.BowShackle, 31.9), item("front right point", gear.RecoveryPoint, 25)}}},
		},
	}
}

// winched is a winch line of three parts, redirected around a tree.
func winched() rig.Rig {
	return rig.Rig{
		Name: "winch, three parts", Pulling: gear.Vehicle{Name: "Mole"}, Stuck: gear.Vehicle{Name: "Otter"},
		Chain: []rig.Link{
			{Redirect: &rig.Redirect{Included: unit.Degrees(90), Block: []rig.Use{item("block 1", gear.Block, 80), item("bow shackle 9", gear.BowShackle, 46), item("tree strap", gear.TreeStrap, 60)}}},
			inLine("River-2", gear.LoadCell, 100),
			{Tackle: &rig.Tackle{Parts: 3,
				Fall:    []rig.Use{item("winch of Mole", gear.Winch, 40), item("winch rope", gear.WinchRope, 40)},
				Sheaves: [][]rig.Use{{item("block 2", gear.Block, 80), item("hook 1", gear.Hook, 50)}, {item("ring 3", gear.Ring, 80), item("anchor", gear.GroundAnchor, 50)}},
				Dead:    []rig.Use{item("soft shackle 2", gear.SoftShackle, 60)}}},
		},
	}
}

// long is a rig of more items than stand beside each other on a page.
func long() rig.Rig {
	r := rig.Rig{Name: "two straps", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}}
	r.Chain = []rig.Link{inLine("rear point of Heron", gear.RecoveryPoint, 50), inLine("River-1", gear.LoadCell, 100)}
	for i := range 14 {
		kind := []gear.Kind{gear.BowShackle, gear.ExtensionStrap, gear.SoftShackle}[i%3]
		r.Chain = append(r.Chain, inLine(fmt.Sprint(kind, " ", i), kind, 40))
	}
	return r
}

// bent is a winch line around two blocks.
func bent() rig.Rig {
	around := func(n string) rig.Link {
		return rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(90), Block: []rig.Use{item("block "+n, gear.Block, 40), item("bow shackle "+n, gear.BowShackle, 46), item("tree strap "+n, gear.TreeStrap, 60)}}}
	}
	return rig.Rig{
		Name: "round two trees", Pulling: gear.Vehicle{Name: "Mole"}, Stuck: gear.Vehicle{Name: "Otter"},
		Chain: []rig.Link{inLine("winch of Mole", gear.Winch, 50), inLine("winch rope", gear.WinchRope, 50), around("1"), around("2"), inLine("River-2", gear.LoadCell, 100), inLine("soft shackle 2", gear.SoftShackle, 60)},
	}
}

// judged is a result made by hand: the drawing is what is under test.
func judged(items ...rating.Item) *rating.Result {
	return &rating.Result{Peak: rating.Peak{Value: 47300}, Items: items, Verdict: items[0].Verdict, Summary: "One item was over its rating."}
}

func of(ref string, v rating.Verdict, share float64, reason string) rating.Item {
	it := rating.Item{Ref: ref, Reason: reason, Load: rating.Load{Verdict: v}}
	if share > 0 {
		it.Utilisation = &share
	}
	return it
}

func bridledResult() *rating.Result {
	return judged(
		of("6.left.2", rating.Over, 1.37, "The front left point carried 27.3 kN, 137 % of its WLL of 20 kN, if the bridle shared equally."),
		of("5", rating.OverBreaking, 1.18, ""), of("2", rating.Inside, 1.0, ""), of("1", rating.Inside, 0.95, ""),
		of("3", rating.Inside, 0.47, ""), of("4", rating.NotJudged, 0, ""), of("6.strap", rating.NotRated, 0.45, ""),
		of("6.left.1", rating.Inside, 0.85, ""), of("6.right.1", rating.Inside, 0.85, ""), of("6.right.2", rating.Inside, 0.7, ""))
}

func winchedResult() *rating.Result {
	return judged(of("1.block.3", rating.Over, 1.1, "The tree strap carried 66 kN, 110 % of its WLL of 60 kN."),
		of("3.sheave1.1", rating.Inside, 0.4, ""), of("3.fall.1", rating.Inside, 0.9, ""), of("3.dead.1", rating.Inside, 0.3, ""))
}

func draw(t require.TestingT, r rig.Rig, res *rating.Result, o chain.Options) string {
	var b bytes.Buffer
	require.NoError(t, chain.SVG(&b, r, res, o))
	return b.String()
}

// TestGolden holds the drawings still: they were looked at when written.
func TestGolden(t *testing.T) {
	t.Parallel()
	cases := map[string]struct {
		rig rig.Rig
		res *rating.Result
	}{
		"bridled":          {bridled(), nil},
		"bridled-judged":   {bridled(), bridledResult()},
		"winched-judged":   {winched(), winchedResult()},
		"mounted":          {example(t, "mountings"), nil},
		"mounted-judged":   {example(t, "mountings"), realResult(t, example(t, "mountings"))},
		"long-judged":      {long(), realResult(t, long())},
		"bent-judged":      {bent(), realResult(t, bent())},
		"no-chain-between": {rig.Rig{Name: "bare", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}}, nil},
	}
	for name, c := range cases {
		for _, f := range forms {
			t.Run(name+"-"+string(f), func(t *testing.T) {
				t.Parallel()
				got := draw(t, c.rig, c.res, chain.Options{Form: f})
				file := filepath.Join("testdata", name+"-"+string(f)+".svg")
				if *update {
					require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
				}
				want, err := os.ReadFile(file)
				require.NoError(t, err)
				assert.Equal(t, string(want), got)
				wellFormed(t, got)
			})
		}
	}
}

// example is a rig of the manual.
func example(t *testing.T, name string) rig.Rig {
	f, err := os.Open("../../testdata/rigs/" + name + ".json")
	require.NoError(t, err)
	defer f.Close()
	r, err := rig.Decode(f)
	require.NoError(t, err)
	return r
}

func realResult(t *testing.T, r rig.Rig) *rating.Result {
	res, err := rating.Judge(rating.Peak{Value: 30e3, Low: 29e3, High: 32e3}, r, unit.Kilonewton)
	require.NoError(t, err)
	return &res
}

// Whatever carries a share is in the drawing, mountings too: as many shares
// are shown as the verdicts have, and a phone shows every name.
func TestEveryPlaceIsDrawn(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"kinetic-bridle", "winch-redirect", "mountings"} {
		r := example(t, name)
		res := realResult(t, r)
		svg := draw(t, r, res, chain.Options{Form: chain.Tall})
		for _, it := range res.Items {
			for word := range strings.FieldsSeq(it.Name) {
				assert.Contains(t, svg, word, "%s in %s", it.Name, name)
			}
		}
		items := len(res.Items)
		if strap, ok := res.At("7.strap"); ok && strap.Kind == gear.Bridle {
			items++ // drawn in both legs
		}
		written := 0
		for _, v := range rating.Verdicts() {
			written += strings.Count(svg, v.String()+"</text>")
		}
		assert.Equal(t, items, written, "a verdict beside every item of %s", name)
	}
}

// wellFormed reads the drawing as XML to its end and checks that ids are
// unique, that every clip path referred to exists, and that text stays inside.
func wellFormed(t require.TestingT, svg string) {
	d := xml.NewDecoder(strings.NewReader(svg))
	ids := map[string]bool{}
	var width, height float64
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		attr := map[string]string{}
		for _, a := range el.Attr {
			attr[a.Name.Local] = a.Value
		}
		if box := strings.Fields(attr["viewBox"]); len(box) == 4 {
			width, height = number(t, box[2]), number(t, box[3])
		}
		if id := attr["id"]; id != "" {
			assert.False(t, ids[id], "id %s twice", id)
			ids[id] = true
		}
		if el.Name.Local == "text" {
			x, y := number(t, attr["x"]), number(t, attr["y"])
			assert.True(t, x >= 0 && x <= width && y >= 0 && y <= height, "text at %v, %v outside %v × %v", x, y, width, height)
		}
	}
	for _, m := range regexp.MustCompile(`url\(#([^)]*)\)`).FindAllStringSubmatch(svg, -1) {
		assert.True(t, ids[m[1]], "clip path %s does not exist", m[1])
	}
}

func number(t require.TestingT, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// TestAnyNames draws rigs whose names are anything that people may type.
func TestAnyNames(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := bridled()
		name := rapid.StringOf(rapid.RuneFrom([]rune("aé<>&\"'\\ \u200b語∞%0")))
		r.Name, r.Pulling.Name = name.Draw(t, "rig"), name.Draw(t, "vehicle")
		for i := range r.Chain {
			if r.Chain[i].Use != nil {
				r.Chain[i].Use.Item.Name = name.Draw(t, "item")
			}
		}
		res := bridledResult()
		res.Items[0].Reason = name.Draw(t, "reason")
		f := rapid.SampledFrom(forms).Draw(t, "form")
		wellFormed(t, draw(t, r, res, chain.Options{Form: f, ID: "x-"}))
	})
}

// TestFillFollowsShare finds the ink of the strap and compares its height
// with the share of the limit that it was given.
func TestFillFollowsShare(t *testing.T) {
	t.Parallel()
	for share, want := range map[float64]float64{0.25: 6.5, 0.5: 13, 0.9: 23.4} {
		svg := draw(t, bridled(), judged(of("1", rating.Inside, 0, ""), of("5", rating.Inside, share, "")), chain.Options{})
		m := regexp.MustCompile(`<clipPath[^>]*><path d="([^"]*)"/></clipPath>\s<rect x="[^"]*" y="([^"]*)" [^>]*clip-path`).FindStringSubmatch(svg)
		require.NotNil(t, m)
		assert.InDelta(t, want, around("strap", corners(t, m[1])).y1-number(t, m[2]), 0.06, "share %v", share)
	}
}

// TestPlannedIsInkedAndWashed draws a plan: the ink reaches to the share at
// the expected load, the wash above it to that at the upper end.
func TestPlannedIsInkedAndWashed(t *testing.T) {
	t.Parallel()
	strap := of("5", rating.Inside, 0.5, "")
	strap.Carried, strap.High, strap.AtHigh = 20_000, 36_000, rating.Over
	svg := draw(t, bridled(), judged(of("1", rating.Inside, 0, ""), strap), chain.Options{Planned: true})
	found := regexp.MustCompile(`<rect x="[^"]*" y="([^"]*)" [^>]*fill-opacity="([^"]*)"[^>]*clip-path`).FindAllStringSubmatch(svg, -1)
	require.Len(t, found, 2)
	clip := regexp.MustCompile(`<clipPath[^>]*><path d="([^"]*)"/>`).FindStringSubmatch(svg)
	require.NotNil(t, clip)
	bottom := around("strap", corners(t, clip[1])).y1
	for i, want := range []struct{ height, opacity float64 }{{23.4, 0.25}, {13, 0.6}} {
		assert.InDelta(t, want.height, bottom-number(t, found[i][1]), 0.06)
		assert.Equal(t, want.opacity, number(t, found[i][2]))
	}
	assert.Contains(t, svg, ">90 %<")
	wellFormed(t, svg)
}

// TestTypeStaysLarge measures type as it is shown: on a page that a laptop
// of 1366 pixels shows 984 wide, on a phone of 390, and on a sheet of A4.
func TestTypeStaysLarge(t *testing.T) {
	t.Parallel()
	shown := map[chain.Form]struct{ wide, least float64 }{
		chain.Wide:  {984, 12},                     // pixels
		chain.Tall:  {358, 12},                     //
		chain.Paper: {(210 - 32) / 25.4 * 72, 8.5}, // points
	}
	for _, r := range []rig.Rig{bridled(), winched(), long(), bent()} {
		for f, on := range shown {
			svg := draw(t, r, realResult(t, r), chain.Options{Form: f})
			for _, size := range regexp.MustCompile(`font-size="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
				assert.GreaterOrEqual(t, number(t, size[1])*on.wide/read(t, svg).width, on.least, "%s, %s", r.Name, f)
			}
		}
	}
}

// TestSmallDrawingShowsWhatHangs counts what is drawn in a row of a list.
func TestSmallDrawingShowsWhatHangs(t *testing.T) {
	t.Parallel()
	svg := draw(t, bent(), realResult(t, bent()), chain.Options{Form: chain.Mini})
	assert.Len(t, read(t, svg).bodies, len(bent().Uses())-1+2, "all items but the cell, which is a gap, and the two vehicles")
	for _, it := range bent().Uses() {
		assert.NotContains(t, svg, ">"+it.Item.Name+"<")
	}
}

func TestPercent(t *testing.T) {
	t.Parallel()
	for share, want := range map[float64]string{0: "0 %", 0.614: "61 %", 1.37: "137 %", 12.4: "12 ×"} {
		assert.Equal(t, want, chain.Percent(share))
	}
}

func TestSymbolPerVerdict(t *testing.T) {
	t.Parallel()
	seen := map[string]rating.Verdict{}
	for _, v := range rating.Verdicts() {
		s := string(chain.Symbol(v))
		wellFormed(t, s)
		assert.Contains(t, s, "currentColor", "%s has no shape", v)
		assert.NotContains(t, seen, s, "%s and %s look alike", v, seen[s])
		seen[s] = v
	}
}

func TestUnknownFormPanics(t *testing.T) {
	t.Parallel()
	assert.PanicsWithValue(t, "chain: unknown form round", func() { _ = chain.SVG(io.Discard, bridled(), nil, chain.Options{Form: "round"}) })
}
