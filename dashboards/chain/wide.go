package chain

import "unicode/utf8"

const (
	wideLine   = 92.0 // height of the line in the wide drawing
	wideSpread = 78.0 // how far the legs of a fork lie from it
)

// slot is the width that an item takes in the wide drawing.
func (a part) slot() float64 {
	w := 96.0
	switch a.shape {
	case band, cord, vehicle:
		w = 128
	case gap:
		w = 116
	}
	if a.weakest {
		w += 44
	}
	return max(w, float64(utf8.RuneCountInString(a.share))*7.8+12)
}

// body is the box of an item within a slot that starts at x on the line y.
func (a part) body(x, y float64) box {
	w, h := a.slot(), 34.0
	switch a.shape {
	case band, cord:
		w, h = w-16, 26
	case vehicle:
		w, h = w-24, 62
	case gap:
		w, h = w-14, 40
	case wheel, ring:
		w, h = 38, 38
	default:
		w = 46
	}
	if a.weakest && a.shape != vehicle {
		h *= 1.75
		if a.shape != band && a.shape != cord {
			w *= 1.6
		}
	}
	return box{x + (a.slot()-w)/2, y - h/2, w, h}
}

func slots(parts []part) float64 {
	w := 0.0
	for _, a := range parts {
		w += a.width()
	}
	return w
}

// width is the slot of a part, or of the longest leg of a fork.
func (a part) width() float64 {
	if len(a.legs) == 0 {
		return a.slot()
	}
	w := 0.0
	for _, l := range a.legs {
		w = max(w, slots(l))
	}
	return w + 60 // room for the lines to spread and meet
}

// wide draws the chain from left to right, names under it, and the sentence
// about the weakest item below, tied to it by a thin line.
func (d *drawing) wide() (w, h float64) {
	w = max(slots(d.parts)+20, 940)
	y := wideLine
	if d.forks() {
		y += wideSpread + 14
		d.low += wideSpread
	}
	d.low += y + 78
	d.run(d.parts, (w-slots(d.parts))/2, y, false)
	if d.sentence != "" {
		d.tie(w)
	}
	return w, d.low + 4
}

// tie writes the sentence about the weakest item under the chain and draws a
// thin line from one to the other.
func (d *drawing) tie(w float64) {
	const letter = 10.6 // about the width of one, for the size below
	rows := wrap(d.sentence, int((w-20)/letter), 3)
	long := 0.0
	for _, r := range rows {
		long = max(long, float64(utf8.RuneCountInString(r))*letter)
	}
	x := max(min(d.weakX-24, w-10-long), 10)
	d.p.stroke(line(d.weakX, d.weakY, d.weakX, d.low+14), 1.2, "")
	d.low = d.p.lines(x, d.low+34, 18, "start", true, rows)
}

// run draws parts one after another along the line y. Names go above the
// items where up is set, else under them.
func (d *drawing) run(parts []part, x, y float64, up bool) float64 {
	for i, a := range parts {
		if len(a.legs) > 0 {
			x = d.fork(a, x, y)
			continue
		}
		b := a.body(x, y)
		if a.shape != vehicle || !a.first {
			d.p.stroke(line(x, y, b.x, y), 2.5, "")
		}
		if a.shape != vehicle || a.first {
			d.p.stroke(line(b.right(), y, x+a.slot(), y), 2.5, "")
		}
		d.p.item(a, b)
		d.label(a, b, y, up)
		if len(a.hang) > 0 {
			forks := i+1 < len(parts) && len(parts[i+1].legs) > 0
			d.hang(a.hang, b.midX(), b.bottom(), forks)
			if a.weakest {
				d.weakX = x + 8 // clear of what hangs there
			}
		}
		x += a.slot()
	}
	return x
}

// fork draws the legs of a bridle side by side and lets them meet again.
func (d *drawing) fork(a part, x, y float64) float64 {
	inner := a.width() - 60
	for i, leg := range a.legs {
		ly := y - wideSpread + 2*wideSpread*float64(i)/float64(max(len(a.legs)-1, 1))
		d.p.stroke(line(x, y, x+30, ly), 2.5, "")
		end := d.run(leg, x+30, ly, ly < y)
		d.p.stroke(line(end, ly, x+30+inner, ly)+line(x+30+inner, ly, x+a.width(), y), 2.5, "")
	}
	return x + a.width()
}

// hang draws what holds a redirect's block, downwards from it, with the words
// to the left where a fork begins to the right.
func (d *drawing) hang(parts []part, x, y float64, left bool) {
	y += 44 // below the block's name
	d.p.stroke(line(x, y-44, x, y-40), 2.5, "")
	for _, a := range parts {
		b := box{x - 17, y + 10, 34, 34}
		d.p.stroke(line(x, y, x, b.y), 2.5, "")
		d.p.item(a, b)
		rows := wrap(a.name, 16, 2)
		words, anchor := b.right()+8, "start"
		if left {
			words, anchor = b.x-8, "end"
		}
		end := d.p.lines(words, b.y+10, 14, anchor, a.weakest, rows)
		if a.verdict != "" {
			at := b.right()
			if left {
				at = b.x - 34 - float64(utf8.RuneCountInString(a.share))*9.5
			}
			d.p.symbol(a.verdict, at+14, end-3, 6)
			d.p.text(at+26, end+2, 14, "start", true, a.share)
		}
		if a.weakest {
			d.weakX, d.weakY = b.midX(), b.bottom()
		}
		y = b.bottom()
	}
	d.low = max(d.low, y+20)
}

// label writes name, share of the limit and verdict of an item.
func (d *drawing) label(a part, b box, y float64, up bool) {
	chars := int(a.slot() / 8.2)
	rows := wrap(a.name, chars, 3)
	under := max(b.bottom(), y+24) + 20
	over := min(b.y, y-24) - 12
	if up {
		under, over = over-float64(len(rows)-1)*16.8+2, max(b.bottom(), y+24)+22
	}
	end := d.p.lines(b.midX(), under, 14, "middle", a.weakest, rows)
	if a.verdict != "" {
		size := 15.0
		if a.weakest {
			size = 21
		}
		half := float64(utf8.RuneCountInString(a.share)) * size * 0.34
		d.p.symbol(a.verdict, b.midX()-half-3, over-size*0.36, size*0.42)
		d.p.text(b.midX()+size*0.55, over, size, "middle", true, a.share)
	} else if a.share != "" {
		d.p.text(b.midX(), over, 13, "middle", false, a.share)
	}
	if a.weakest {
		d.weakX, d.weakY = b.midX(), end-8
		if up {
			d.weakX, d.weakY = b.midX()+half(a), max(b.bottom(), y+24)+26
		}
	}
}

// half keeps the thin line of an upper leg clear of what hangs below it.
func half(a part) float64 { return a.slot()/2 - 14 }
