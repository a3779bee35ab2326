package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
)

// element is one element of a drawing of package chain.
type element struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Inside  []element  `xml:",any"`
}

func (e element) get(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e element) num(name string) float64 {
	v, _ := strconv.ParseFloat(e.get(name), 64) // absent is zero
	return v
}

// canvas draws the part of SVG that package chain writes, as lines and letters
// of the PDF. Anything else is an error, never left out in silence.
type canvas struct {
	sheet
	x, y, scale float64
	clips       map[string][]fpdf.PointType
}

// drawing draws an SVG w wide. At y 0 it stands at the current line, on a new
// page where it does not fit, and moves on below it.
func (s sheet) drawing(svg string, x, y, w float64) error {
	var root element
	if err := xml.NewDecoder(strings.NewReader(svg)).Decode(&root); err != nil && err != io.EOF {
		return fmt.Errorf("report: the drawing of the rig cannot be read: %w", err)
	}
	var box [4]float64
	if _, err := fmt.Sscan(root.get("viewBox"), &box[0], &box[1], &box[2], &box[3]); err != nil {
		return fmt.Errorf("report: the drawing of the rig has no size: %w", err)
	}
	c := canvas{s, x, y, w / box[2], map[string][]fpdf.PointType{}}
	if y == 0 {
		s.room(box[3] * c.scale)
		c.y = s.GetY()
		defer s.SetY(c.y + box[3]*c.scale + 2)
	}
	for _, e := range root.Inside {
		if err := c.element(e); err != nil {
			return err
		}
	}
	return nil
}

func (c canvas) at(x, y float64) fpdf.PointType {
	return fpdf.PointType{X: c.x + x*c.scale, Y: c.y + y*c.scale}
}

func (c canvas) element(e element) error {
	if e.get("transform") != "" {
		return fmt.Errorf("report: the drawing of the rig turns a part, which a PDF of ours cannot")
	}
	switch e.XMLName.Local {
	case "clipPath":
		parts, err := c.outlines(e.Inside[0].get("d"))
		if err != nil {
			return err
		}
		c.clips[e.get("id")] = parts[0]
	case "path":
		return c.path(e)
	case "rect":
		c.rect(e)
	case "circle":
		c.pen(e)
		at := c.at(e.num("cx"), e.num("cy"))
		c.Circle(at.X, at.Y, e.num("r")*c.scale, "D")
		c.SetDashPattern(nil, 0)
	case "text":
		c.letters(e)
	default:
		return fmt.Errorf("report: the drawing of the rig has a %s, which a PDF of ours cannot hold", e.XMLName.Local)
	}
	return nil
}

func (c canvas) pen(e element) {
	c.SetLineWidth(e.num("stroke-width") * c.scale)
	c.SetLineCapStyle(e.get("stroke-linecap"))
	c.SetDashPattern(nil, 0)
	var dash [2]float64
	if n, _ := fmt.Sscan(e.get("stroke-dasharray"), &dash[0], &dash[1]); n == 2 {
		c.SetDashPattern([]float64{dash[0] * c.scale, dash[1] * c.scale}, 0)
	}
}

func (c canvas) path(e element) error {
	parts, err := c.outlines(e.get("d"))
	if err != nil {
		return err
	}
	c.SetFillColor(0, 0, 0)
	c.pen(e)
	for _, p := range parts {
		if e.get("fill") != "none" {
			c.Polygon(p, "F")
			continue
		}
		c.MoveTo(p[0].X, p[0].Y)
		for _, q := range p[1:] {
			c.LineTo(q.X, q.Y)
		}
		c.DrawPath("D")
	}
	c.SetDashPattern(nil, 0)
	return nil
}

func (c canvas) rect(e element) {
	id := strings.TrimSuffix(strings.TrimPrefix(e.get("clip-path"), "url(#"), ")")
	clip, ok := c.clips[id]
	if ok {
		c.ClipPolygon(clip, false)
		defer c.ClipEnd()
	}
	ink := 1.0
	if e.get("fill-opacity") != "" {
		ink = e.num("fill-opacity")
	}
	grey := int(math.Round(255 * (1 - ink))) // on white paper
	c.SetFillColor(grey, grey, grey)
	at := c.at(e.num("x"), e.num("y"))
	c.Rect(at.X, at.Y, e.num("width")*c.scale, e.num("height")*c.scale, "F")
}

func (c canvas) letters(e element) {
	style := ""
	if e.get("font-weight") != "" {
		style = "B"
	}
	c.SetFont(face, style, e.num("font-size")*c.scale/25.4*72)
	at := c.at(e.num("x"), e.num("y"))
	if e.get("text-anchor") == "middle" {
		at.X -= c.GetStringWidth(e.Text) / 2
	}
	c.Text(at.X, at.Y, e.Text)
}

// outlines gives the parts of a path as corners; curves become many.
func (c canvas) outlines(d string) (parts [][]fpdf.PointType, err error) {
	var x, y, x0, y0 float64
	to := func(nx, ny float64) {
		x, y = nx, ny
		parts[len(parts)-1] = append(parts[len(parts)-1], c.at(x, y))
	}
	for _, step := range steps(d) {
		n := step.numbers
		switch {
		case step.letter == 'M' && len(n) == 2:
			parts = append(parts, nil)
			x0, y0 = n[0], n[1]
			to(x0, y0)
		case len(parts) == 0:
			return nil, fmt.Errorf("report: the path %q of the drawing does not begin", d)
		case step.letter == 'L' && len(n) == 2:
			to(n[0], n[1])
		case step.letter == 'H' && len(n) == 1:
			to(n[0], y)
		case step.letter == 'V' && len(n) == 1:
			to(x, n[0])
		case step.letter == 'C' && len(n) == 6:
			bezier(x, y, n, to)
		case step.letter == 'A' && len(n) == 7 && n[2] == 0:
			arc(x, y, n, to)
		case step.letter == 'Z':
			to(x0, y0)
		default:
			return nil, fmt.Errorf("report: the path %q of the drawing cannot be followed at %c", d, step.letter)
		}
	}
	if len(parts) == 0 {
		return nil, fmt.Errorf("report: the drawing has an empty path")
	}
	return parts, nil
}

// pathStep is one command of a path.
type pathStep struct {
	letter  rune
	numbers []float64
}

func steps(d string) (out []pathStep) {
	for len(d) > 0 {
		end := 1 + strings.IndexFunc(d[1:], unicode.IsLetter)
		if end == 0 {
			end = len(d)
		}
		s := pathStep{letter: rune(d[0])}
		for _, f := range strings.Fields(d[1:end]) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				v = math.NaN()
			}
			s.numbers = append(s.numbers, v)
		}
		out, d = append(out, s), d[end:]
	}
	return out
}

const smooth = 16 // corners of a curve

func bezier(x, y float64, n []float64, to func(x, y float64)) {
	for i := 1; i <= smooth; i++ {
		t := float64(i) / smooth
		a, b, c, d := (1-t)*(1-t)*(1-t), 3*t*(1-t)*(1-t), 3*t*t*(1-t), t*t*t
		to(a*x+b*n[0]+c*n[2]+d*n[4], a*y+b*n[1]+c*n[3]+d*n[5])
	}
}

// arc follows an elliptical arc from its ends to its middle, as SVG 1.1,
// appendix F.6.5 says, from memory; its axes are not turned.
func arc(x, y float64, n []float64, to func(x, y float64)) {
	rx, ry, ex, ey := n[0], n[1], n[5], n[6]
	dx, dy := (x-ex)/2/rx, (y-ey)/2/ry
	half := math.Hypot(dx, dy)
	if half > 1 {
		rx, ry, dx, dy, half = rx*half, ry*half, dx/half, dy/half, 1
	}
	if half == 0 {
		return
	}
	off := math.Sqrt(max(1/(half*half)-1, 0))
	if n[3] == n[4] {
		off = -off
	}
	cx, cy := off*dy, -off*dx // of the middle, from half way, on the unit circle
	from, till := math.Atan2(dy-cy, dx-cx), math.Atan2(-dy-cy, -dx-cx)
	if n[4] != 0 && till <= from {
		till += 2 * math.Pi
	}
	if n[4] == 0 && till >= from {
		till -= 2 * math.Pi
	}
	mx, my := (x+ex)/2+cx*rx, (y+ey)/2+cy*ry
	for i := 1; i < smooth; i++ {
		a := from + (till-from)*float64(i)/smooth
		to(mx+rx*math.Cos(a), my+ry*math.Sin(a))
	}
	to(ex, ey)
}
