package plot_test

import (
	"bytes"
	"encoding/xml"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
)

func point(ground string, speed, factor, low, high float64) shock.Point {
	return shock.Point{
		Pull:   shock.Pull{Day: "1", Class: shock.Class{Kind: pull.Kinetic, Ground: ground, Strap: "rope"}, Speed: unit.Speed(speed), Reference: 3000},
		Factor: factor, Low: low, High: high,
	}
}

// speeds is a chart with one ground: exact peaks, one interval, one lower
// bound.
func speeds() shock.SpeedChart {
	upper := func(f float64) *float64 { return &f }
	return shock.SpeedChart{
		Pull: shock.Pull{Class: shock.Class{Strap: "rope & <hook>"}, Puller: 2800, Reference: 3200, StrapLength: 9, StrapMBS: 1e5},
		Grounds: []shock.GroundChart{{
			Ground: "mud",
			Points: []shock.Point{
				point("mud", 1, 0.5, 0.5, 0.5), point("mud", 1.7, 0.8, 0.8, 0.8), point("mud", 2.9, 1.35, 1.3, 1.6),
				point("mud", 2.2, 1.0, 1.0, math.Inf(1)), point("mud", 3.1, 1.2, 1.2, 1.2),
			},
			Curve: []shock.CurvePoint{{Speed: 1, Expected: 0.5, Upper: upper(0.7)}, {Speed: 2, Expected: 0.9, Upper: upper(1.2)}, {Speed: 3.1, Expected: 1.3, Upper: upper(1.8)}},
		}},
	}
}

func residuals() shock.ResidualChart {
	r := func(day string, speed, log float64) shock.Residual {
		return shock.Residual{Pull: shock.Pull{Day: day, Speed: unit.Speed(speed)}, Log: log, Low: log, High: log + 0.1}
	}
	return shock.ResidualChart{
		Days: []string{"2026-03-01", "2026-03-08"}, Spread: 0.13,
		Grounds: []shock.GroundResiduals{
			{Ground: "mud", Residuals: []shock.Residual{r("2026-03-01", 1, 0.1), r("2026-03-08", 2, -0.2)}},
			{Residuals: []shock.Residual{r("2026-03-08", 3, 0)}},
		},
	}
}

func classes() shock.ClassChart {
	upper := 2.31
	return shock.ClassChart{Assumed: 3, Classes: []shock.ClassPoints{
		{Fit: shock.ClassFit{Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "rope"}, Pulls: 3, Median: 1.4, Upper: &upper}, Points: speeds().Grounds[0].Points[:3]},
		{Fit: shock.ClassFit{Class: shock.Class{Kind: pull.Kinetic, Ground: "sand"}, Pulls: 1, Median: 1.2}, Points: speeds().Grounds[0].Points[3:4]},
	}}
}

func figures() map[string]plot.Figure {
	return map[string]plot.Figure{"speed": plot.Speed(speeds()), "residuals": plot.Residuals(residuals()), "classes": plot.Classes(classes())}
}

func svg(t *testing.T, f plot.Figure) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, f.SVG(&b))
	return b.String()
}

// texts are the texts of an SVG, which must be well-formed, and its title and
// description.
func texts(t *testing.T, doc string) (all []string, title, desc string) {
	t.Helper()
	at := ""
	for d := xml.NewDecoder(strings.NewReader(doc)); ; {
		token, err := d.Token()
		if err == io.EOF {
			return all, title, desc
		}
		require.NoError(t, err)
		switch k := token.(type) {
		case xml.StartElement:
			at = k.Name.Local
		case xml.EndElement:
			at = ""
		case xml.CharData:
			switch at {
			case "text":
				all = append(all, string(k))
			case "title":
				title += string(k)
			case "desc":
				desc += string(k)
			}
		}
	}
}

// TestSVG: every figure is well-formed, has a name and a description, and says
// in words what its lines are.
func TestSVG(t *testing.T) {
	t.Parallel()
	want := map[string][]string{
		"speed":     {"bound", "as the fit by speed expects", "speed, km/h", "interval of the true peak", "reading is only a lower bound", "mud (5 pulls)"},
		"residuals": {"95 in 100 between, by the fit", "speed, km/h", "day", "mud", "ground not named", "peak ÷ expected peak"},
		"classes":   {"bound 2.31", "assumed 3", "median", "kinetic, mud, rope", "kinetic, sand"},
	}
	for name, f := range figures() {
		doc := svg(t, f)
		all, title, desc := texts(t, doc)
		assert.Equal(t, f.Title, title, name)
		assert.Equal(t, f.Caption, desc, name)
		assert.Contains(t, doc, `role="img" aria-labelledby="title desc"`, name)
		for _, w := range want[name] {
			assert.Contains(t, all, w, name)
		}
		assert.NotContains(t, doc, "NaN", name)
		assert.NotContains(t, doc, "Inf", name)
	}
}

var circle = regexp.MustCompile(`<path d="M([-0-9.]+),([-0-9.]+)A2\.6,2\.6 [^"]*" style="fill:#1F1B16"`)

// TestSVGHasThePoints: there is one mark for each pull, and all of them lie on
// the straight lines between their numbers and the paper.
func TestSVGHasThePoints(t *testing.T) {
	t.Parallel()
	c := speeds()
	marks := circle.FindAllStringSubmatch(svg(t, plot.Speed(c)), -1)
	points := c.Grounds[0].Points
	require.Len(t, marks, len(points))
	place := func(i, axis int) float64 {
		v, err := strconv.ParseFloat(marks[i][axis], 64)
		require.NoError(t, err)
		return v
	}
	last := len(points) - 1
	dx := (place(last, 1) - place(0, 1)) / float64(points[last].Pull.Speed-points[0].Pull.Speed)
	dy := (place(last, 2) - place(0, 2)) / (points[last].Factor - points[0].Factor)
	assert.Positive(t, dx)
	assert.Positive(t, dy)
	for i, p := range points {
		assert.InDelta(t, place(0, 1)+dx*float64(p.Pull.Speed-points[0].Pull.Speed), place(i, 1), 0.05)
		assert.InDelta(t, place(0, 2)+dy*(p.Factor-points[0].Factor), place(i, 2), 0.05)
	}
}

// TestPNG: every figure decodes, is mostly paper with ink on it, and loses
// nothing when printed in grey: no colour is far from grey.
func TestPNG(t *testing.T) {
	t.Parallel()
	for name, f := range figures() {
		var b bytes.Buffer
		require.NoError(t, f.PNG(&b))
		picture, err := png.Decode(&b)
		require.NoError(t, err, name)
		size := picture.Bounds().Size()
		require.Greater(t, size.X, 900, name)
		dark, light := 0, 0
		for y := 0; y < size.Y; y += 3 {
			for x := 0; x < size.X; x += 3 {
				r, g, b, _ := picture.At(x, y).RGBA()
				require.LessOrEqual(t, max(r, g, b)-min(r, g, b), uint32(0x2000), "%s at %d, %d", name, x, y)
				if g < 0x6000 {
					dark++
				} else if g > 0xe000 {
					light++
				}
			}
		}
		assert.Greater(t, float64(light), 0.8/9*float64(size.X*size.Y), name)
		assert.Greater(t, float64(dark), 0.005/9*float64(size.X*size.Y), name)
	}
}

// TestFiguresOfLittle: one pull and nothing fitted can be drawn.
func TestFiguresOfLittle(t *testing.T) {
	t.Parallel()
	one := shock.SpeedChart{Grounds: []shock.GroundChart{{Points: []shock.Point{point("", 2, 1, 1, 1)}}}}
	doc := svg(t, plot.Speed(one))
	all, _, _ := texts(t, doc)
	assert.Contains(t, all, "ground not named (1 pull)")
	assert.NotContains(t, all, "bound")
	assert.NotContains(t, doc, "NaN")
	assert.NotContains(t, doc, "Inf")
	var b bytes.Buffer
	require.NoError(t, plot.Speed(one).PNG(&b))
}
