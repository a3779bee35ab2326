package chain

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"tautlog/analysis/rating"
)

// pen collects SVG elements. Clip paths get ids that start with prefix, so
// that several chains can stand on one page.
type pen struct {
	b      strings.Builder
	prefix string
	clips  int
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// num1 rounds to a tenth of a unit, more than any screen shows.
func num1(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}

func (p *pen) stroke(d string, width float64, more string) {
	if d != "" {
		fmt.Fprintf(&p.b, `<path d="%s" fill="none" stroke="currentColor" stroke-width="%s"%s/>`+"\n", tidy(d), num1(width), more)
	}
}

// item draws one segment: its outline filled from the bottom to its share of
// its own limit. An unknown limit has a dotted outline and no fill.
func (p *pen) item(a part, b box) {
	if a.shape == gap {
		p.cell(a, b)
		return
	}
	along, turn := b, ""
	if a.tall && a.shape != vehicle && a.shape != stake { // drawn along the line, then turned with it
		along = box{b.midX() - b.h/2, b.midY() - b.w/2, b.h, b.w}
		turn = fmt.Sprintf(` transform="rotate(90 %s %s)"`, num1(b.midX()), num1(b.midY()))
	}
	d := outline(a.shape, along)
	if f := min(a.fill, 1); f > 0 && a.sure < a.fill {
		p.fill(d, turn, b, f, 0.25)
	}
	if f := min(a.sure, 1); f > 0 {
		p.fill(d, turn, b, f, 0.6)
	}
	more := ` stroke-linejoin="round"` + turn
	if a.unknown() {
		more += ` stroke-dasharray="3 4"`
	}
	p.stroke(d, a.weight(), more)
	p.stroke(details(a.shape, along), a.weight()*0.7, more)
}

// fill inks the share f of what the path d encloses, from the bottom up.
func (p *pen) fill(d, turn string, b box, f, opacity float64) {
	p.clips++
	id := p.prefix + "c" + strconv.Itoa(p.clips)
	top := b.bottom() - f*b.h
	if f == 1 {
		top = b.y - b.h // some outlines stand out of their box a little
	}
	fmt.Fprintf(&p.b, `<clipPath id="%s"><path d="%s"%s/></clipPath>`+"\n", id, tidy(d), turn)
	fmt.Fprintf(&p.b, `<rect x="%s" y="%s" width="%s" height="%s" fill="currentColor" fill-opacity="%s" clip-path="url(#%s)"/>`+"\n",
		num1(b.x-b.w), num1(top), num1(3*b.w), num1(b.bottom()-top+b.h), strconv.FormatFloat(opacity, 'f', -1, 64), id)
}

// cellSize is the size of the type in the gap of a cell.
const cellSize = 17.0

// cell draws the load cell: a small gap in the line between two lugs.
func (p *pen) cell(a part, b box) {
	if a.tall {
		p.stroke(line(b.x, b.y, b.right(), b.y)+line(b.x, b.bottom(), b.right(), b.bottom()), 3, "")
		return
	}
	p.stroke(line(b.x, b.y+b.h*0.15, b.x, b.bottom()-b.h*0.15)+line(b.right(), b.y+b.h*0.15, b.right(), b.bottom()-b.h*0.15), 3, "")
	if a.reading != "" && b.w > 60 { // not where it is drawn without words
		p.text(b.midX(), b.midY()+6, cellSize, "middle", true, a.reading)
	}
}

func (p *pen) text(x, y, size float64, anchor string, bold bool, s string) {
	weight := ""
	if bold {
		weight = ` font-weight="600"`
	}
	fmt.Fprintf(&p.b, `<text x="%s" y="%s" font-size="%s" text-anchor="%s"%s fill="currentColor">%s</text>`+"\n",
		num1(x), num1(y), num1(size), anchor, weight, html.EscapeString(s))
}

// lines writes wrapped text downwards from y and gives the y below it.
func (p *pen) lines(x, y, size float64, anchor string, bold bool, rows []string) float64 {
	for _, r := range rows {
		p.text(x, y, size, anchor, bold, r)
		y += size * 1.2
	}
	return y
}

// symbol draws the shape that stands for a verdict, centred at x, y.
func (p *pen) symbol(v rating.Verdict, x, y, r float64) { p.b.WriteString(symbol(v, x, y, r)) }

// tidy rounds every number of a path, so that the drawing is the same on
// every machine and small.
func tidy(d string) string {
	var out strings.Builder
	for i := 0; i < len(d); {
		j := i
		for j < len(d) && (d[j] >= '0' && d[j] <= '9' || d[j] == '.' || d[j] == '-') {
			j++
		}
		if j == i {
			out.WriteByte(d[i])
			i++
			continue
		}
		v, err := strconv.ParseFloat(d[i:j], 64)
		if err != nil {
			panic("chain: not a path: " + d)
		}
		out.WriteString(num1(v))
		i = j
	}
	return out.String()
}
