package chain

import "fmt"

// Widths that the drawing from left to right is laid out for: a page on a
// laptop shows it about as large as it is, and so does a sheet of paper. A
// longer chain goes on in another row, so that its type stays as large.
const (
	pageWide  = 940.0
	paperWide = 700.0
)

const (
	edge  = 10.0 // left free around everything
	aside = 14.0 // beside rows, for the line from one to the next
	aisle = 26.0 // between them, for the same
)

// wide draws the chain from left to right, names under it, and the sentence
// about the weakest item below its row, tied to it by a thin line.
func (d *drawing) wide(least float64) (w, h float64) {
	rows, all := d.rows(least - 2*edge)
	w = max(all+2*edge, least)
	left := (w - all) / 2
	if len(rows) > 1 {
		left += aside
	}
	right := w - left
	h = 8
	for i, parts := range rows {
		r := d.along(parts)
		y := h + r.up
		if i > 0 {
			d.p.stroke(fmt.Sprintf("M%s %sV%sH%s", num(left-aside), num(h-aisle/2), num(y), num(left)), 1.6, goesOn)
		}
		end := d.run(parts, left, y)
		h = y + r.down
		if hasWeakest(parts) && d.sentence != "" && !d.toldInside() {
			from, till := left, right
			if len(rows) == 1 {
				from, till = edge, w-edge
			}
			told := wrap(d.sentence, till-from, sentenceSize)
			d.tie(told, h+pointer, from, till)
			h += pointer + sentenceSize*leading*float64(len(told))
		}
		if i < len(rows)-1 {
			h += aisle
			d.p.stroke(fmt.Sprintf("M%s %sH%sV%sH%s", num(end), num(y), num(right+aside), num(h-aisle/2), num(left-aside)), 1.6, goesOn)
		}
	}
	return w, h + 8
}

// goesOn is how the line from the end of a row to the next one looks.
const goesOn = ` class="goes-on" stroke-dasharray="2 5"`

// rows breaks the chain into rows that are at most so wide, as few as can be
// and about equally long, and gives the width of all with the line between
// them. A chain that is only a little longer stays in one row, and is shown that
// much smaller. What cannot be broken, a bridle with much in its legs, gets less
// room for names, and at last more than there is.
func (d *drawing) rows(room float64) (rows [][]part, w float64) {
	const little = 1.15
	for _, names := range nameRooms {
		limitNames(d.parts, names)
		if all := d.along(d.parts).w; all <= little*room {
			return [][]part{d.parts}, all
		}
	}
	room -= 2 * aside
	for _, names := range nameRooms {
		if limitNames(d.parts, names); d.widestPart() <= room {
			break
		}
	}
	least := d.widestPart()
	rows = d.broken(max(room, least))
	for narrow := room - 10; narrow >= least; narrow -= 10 {
		even := d.broken(narrow)
		if len(even) > len(rows) {
			break
		}
		rows = even
	}
	for _, r := range rows {
		w = max(w, d.along(r).w)
	}
	return rows, w + 2*aside
}

// nameRooms are what a long name may take along the line, what is best first.
var nameRooms = []float64{240, 170, 100}

// broken is the chain in rows that are at most so wide.
func (d *drawing) broken(room float64) (rows [][]part) {
	from, w := 0, 0.0
	for i := range d.parts {
		one := d.along(d.parts[i : i+1]).w
		if i > from && w+one > room {
			rows = append(rows, d.parts[from:i])
			from, w = i, 0
		}
		w += one
	}
	return append(rows, d.parts[from:])
}

func (d *drawing) widestPart() (w float64) {
	for i := range d.parts {
		w = max(w, d.along(d.parts[i:i+1]).w)
	}
	return w
}

// limitNames says how much room a long name may take along the line.
func limitNames(parts []part, most float64) {
	for i := range parts {
		parts[i].mostName = most
		for _, leg := range parts[i].legs {
			limitNames(leg, most)
		}
	}
}

// tie writes the sentence about the weakest item from y down, between left and
// right, and draws a thin line to it from the item.
func (d *drawing) tie(rows []string, y, left, right float64) {
	x := max(min(d.weakX-24, right-widest(rows, sentenceSize)), left)
	d.p.stroke(line(d.weakX, d.weakY, d.weakX, y-6), 1.2, ` class="pointer"`)
	if d.weakFrom != d.weakX {
		d.p.stroke(line(d.weakFrom, d.weakY, d.weakX, d.weakY), 1.2, ` class="pointer"`)
	}
	d.p.lines(x, y+sentenceSize*0.8, sentenceSize, "start", true, rows)
}

// run draws parts one after another along the line y.
func (d *drawing) run(parts []part, x, y float64) float64 {
	for _, a := range parts {
		if len(a.legs) > 0 {
			x = d.fork(a, x, y)
			continue
		}
		end := x + a.room().w
		b := a.body(x, y)
		if a.shape != vehicle || !a.first {
			d.p.stroke(line(x, y, b.x, y), 2.5, "")
		}
		if a.shape != vehicle || a.first {
			d.p.stroke(line(b.right(), y, end, y), 2.5, "")
		}
		d.p.item(a, b)
		d.label(a, b, y)
		if a.weakest {
			d.pointFrom(b.midX(), b.midX(), y+a.under()+2)
		}
		if len(a.hang) > 0 {
			d.hang(a, x, y)
		}
		x = end
	}
	return x
}

// body is the box of an item whose room starts at x on the line y.
func (a part) body(x, y float64) box {
	w, h := a.size()
	return box{x + (a.base()-w)/2, y - h/2, w, h}
}

// pointFrom says where the thin line to the sentence leaves the weakest item,
// and at which x it runs down.
func (d *drawing) pointFrom(from, x, y float64) { d.weakFrom, d.weakX, d.weakY = from, x, y }

// fork draws the legs of a bridle side by side and lets them meet again.
func (d *drawing) fork(a part, x, y float64) float64 {
	f := d.forked(a)
	left, right := x+spread, x+spread+f.inner
	for i, leg := range a.legs {
		at := y + f.lines[i]
		d.p.stroke(line(x, y, left, at), 2.5, "")
		end := d.run(leg, left, at)
		d.p.stroke(line(end, at, right, at)+line(right, at, x+f.w, y), 2.5, "")
		if i == f.telling {
			d.tie(f.rows, at+f.below, left+8, right-8)
		}
	}
	return x + f.w
}

// hang draws what holds a redirect's block, downwards from it and below its
// name, with the words to the right.
func (d *drawing) hang(block part, x, y float64) {
	mid := x + block.base()/2
	side := x + 5 // clear of the name and of what hangs
	if block.weakest {
		d.pointFrom(mid-widest(block.names(), nameSize)/2-3, side, y+block.under()-9)
	}
	bottom := block.body(x, y).bottom()
	d.p.stroke(line(mid, bottom, mid, y+block.half()+6), 2.5, "")
	y += block.under()
	from := y
	for _, a := range block.hang {
		b := box{mid - hangBody/2, y + 10, hangBody, hangBody}
		d.p.stroke(line(mid, from, mid, b.y), 2.5, "")
		d.p.item(a, b)
		words := b.right() + 8
		end := d.p.lines(words, b.y+11, nameSize, "start", a.weakest, a.hangNames())
		if a.verdict != "" {
			d.p.symbol(a.verdict, words+6, end-5, 6)
			d.p.text(words+18, end, nameSize, "start", true, a.share)
		} else if a.share != "" {
			d.p.text(words, end, nameSize, "start", false, a.share)
		}
		if a.weakest {
			d.pointFrom(b.x, side, b.midY())
		}
		from, y = b.bottom(), y+a.hangHeight()
	}
}

// label writes name, share of the limit and verdict of an item.
func (d *drawing) label(a part, b box, y float64) {
	d.p.lines(b.midX(), y+a.half()+20, nameSize, "middle", a.weakest, a.names())
	over, size := y-a.half()-12, a.shareSize()
	if a.verdict == "" {
		if a.share != "" {
			d.p.text(b.midX(), over, size, "middle", false, a.share)
		}
		return
	}
	half := span(a.share, size) / 2
	d.p.symbol(a.verdict, b.midX()-half-3, over-size*0.36, size*0.42)
	d.p.text(b.midX()+size*0.55, over, size, "middle", true, a.share)
}
