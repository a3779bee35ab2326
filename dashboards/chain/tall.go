package chain

import (
	"tautlog/analysis/rating"
	"tautlog/calc/words"
)

const (
	tallLine  = 50.0  // where the line hangs in the tall drawing
	tallWidth = 372.0 // of the drawing
	tallApart = 38.0  // between the legs of a fork
)

// text is where the words begin in the tall drawing: right of all lines.
func (d *drawing) text() float64 {
	most := 2
	for _, a := range d.parts {
		most = max(most, len(a.legs))
	}
	return 102 + tallApart*float64(most-2)
}

// tall draws the chain from top to bottom with the words beside it, for a
// narrow screen.
func (d *drawing) tall() (w, h float64) {
	y := d.column(d.parts, tallLine, 6)
	return tallWidth, y
}

// column draws parts downwards from y along the line x.
func (d *drawing) column(parts []part, x, y float64) float64 {
	for _, a := range parts {
		if len(a.legs) > 0 {
			y = d.tallFork(a, y)
			continue
		}
		y = d.row(a, x, y)
		if len(a.hang) > 0 {
			y = d.tallHang(a.hang, x, y)
		}
	}
	return y
}

func (d *drawing) row(a part, x, y float64) float64 {
	size := box{0, 0, 34, 40}
	switch a.shape {
	case vehicle:
		size = box{0, 0, 70, 42}
	case band, cord:
		size.h, size.w = 54, 28
	}
	if a.weakest && a.shape != vehicle {
		size.w, size.h = 50, 62
	}
	words := d.words(a)
	texts := words.height()
	h := max(size.h, texts) + 18
	b := box{x - size.w/2, y + (h-size.h)/2, size.w, size.h}
	if a.shape != vehicle || !a.first {
		d.p.stroke(line(x, y, x, b.y), 2.5, "")
	}
	if a.shape != vehicle || a.first {
		d.p.stroke(line(x, b.bottom(), x, y+h), 2.5, "")
	}
	d.p.item(a.upright(), b)
	d.write(words, y+(h-texts)/2)
	return y + h
}

// beside is what stands right of an item: its name, what it came to, and for
// the weakest one why.
type beside struct {
	size            float64 // of the name
	name, came, why []string
	symbol          rating.Verdict
}

const (
	cameSize = 15.0
	whySize  = 14.0
)

func (b beside) height() float64 {
	return leading * (b.size*float64(len(b.name)) + cameSize*float64(len(b.came)) + whySize*float64(len(b.why)))
}

func (d *drawing) words(a part) beside {
	room := tallWidth - d.text() - 4
	b := beside{size: 16}
	if a.weakest {
		b.size = 18
		if d.sentence != "" {
			b.why = wrap(d.sentence, room, whySize)
		}
	}
	name := a.name
	if a.reading != "" {
		name = words.Say("chain.reading", a.name, a.reading)
	}
	b.name = wrap(name, room, b.size)
	switch {
	case a.verdict != "":
		b.symbol = a.verdict
		b.came = wrap(a.says(), room-symbolWidth, cameSize)
	case a.share != "":
		b.came = wrap(a.share, room, cameSize)
	}
	return b
}

// symbolWidth is the room of the shape before a verdict.
const symbolWidth = 21.0

// write puts the words from y down.
func (d *drawing) write(b beside, y float64) {
	x := d.text()
	y = d.p.lines(x, y+b.size, b.size, "start", true, b.name) - b.size
	if b.symbol != "" {
		d.p.symbol(b.symbol, x+7, y+cameSize-5, 6.5)
		x += symbolWidth
	}
	y = d.p.lines(x, y+cameSize, cameSize, "start", false, b.came) - cameSize
	d.p.lines(d.text(), y+whySize, whySize, "start", false, b.why)
}

// tallFork draws the legs one below the other on lines that hang side by side.
func (d *drawing) tallFork(a part, y float64) float64 {
	top := y
	xs := make([]float64, len(a.legs))
	for i := range a.legs {
		xs[i] = tallLine - tallApart/2 + tallApart*float64(i)
	}
	for _, x := range xs {
		d.p.stroke(line(tallLine, top, x, top+18), 2.5, "")
	}
	y = top + 18
	from := make([]float64, len(a.legs))
	to := make([]float64, len(a.legs))
	for i, leg := range a.legs {
		from[i] = y
		y = d.column(leg, xs[i], y)
		to[i] = y
	}
	for i, x := range xs {
		d.p.stroke(line(x, top+18, x, from[i])+line(x, to[i], x, y)+line(x, y, tallLine, y+18), 2.5, "")
	}
	return y + 18
}

// tallHang draws what holds a redirect's block beside the line that goes on.
func (d *drawing) tallHang(parts []part, x, y float64) float64 {
	on, off := x-24, x+14
	top := y
	d.p.stroke(line(x, top, off, top+14), 2.5, "")
	y = top + 14
	for _, a := range parts {
		y = d.row(a, off, y)
	}
	d.p.stroke(line(x, top, on, top+14)+line(on, top+14, on, y)+line(on, y, x, y+14), 2.5, "")
	return y + 14
}
