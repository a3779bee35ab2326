package chain

const (
	miniApart = 36.0 // between the legs of a fork: the weakest item fits in
	miniEdge  = 18.0 // above the highest leg and below the lowest
)

// mini draws the chain without words, for a row in a list: what is asked
// there is which item was the weakest and how full it was.
func (d *drawing) mini() (w, h float64) {
	legs := 1
	for _, a := range d.parts {
		legs = max(legs, len(a.legs))
	}
	h = max(miniApart*float64(legs-1)+2*miniEdge, 64)
	y, x := h/2, 2.0
	for _, a := range d.parts {
		x = d.bead(a, x, y)
		h = max(h, y+a.miniUnder()+4)
	}
	return x + 2, h
}

func (d *drawing) bead(a part, x, y float64) float64 {
	if len(a.legs) > 0 {
		return d.miniFork(a, x, y)
	}
	s := a.miniSize()
	b := box{x + 4, y - s.h/2, s.w, s.h}
	if a.shape != vehicle || !a.first {
		d.p.stroke(line(x, y, b.x, y), 2, "")
	}
	if a.shape != vehicle || a.first {
		d.p.stroke(line(b.right(), y, b.right()+4, y), 2, "")
	}
	d.p.item(a, b)
	d.miniHang(a.hang, b)
	return b.right() + 4
}

// The line in the small drawing to what hangs from a block.
const miniDrop = 5.0

// miniHang draws what holds a block straight down from it.
func (d *drawing) miniHang(parts []part, block box) {
	from := block
	for _, a := range parts {
		s := a.miniHung()
		b := box{block.midX() - s.w/2, from.bottom() + miniDrop, s.w, s.h}
		d.p.stroke(line(block.midX(), from.bottom(), block.midX(), b.y), 2, "")
		d.p.item(a, b)
		from = b
	}
}

// miniHung is the size of an item that hangs from a block.
func (a part) miniHung() box {
	if a.weakest {
		return box{0, 0, 22, 22}
	}
	return box{0, 0, 12, 11}
}

// miniUnder is how far a part reaches down from the line.
func (a part) miniUnder() float64 {
	down := a.miniSize().h / 2
	for _, b := range a.hang {
		down += miniDrop + b.miniHung().h
	}
	return down
}

func (a part) miniSize() box {
	b := box{0, 0, 16, 18}
	switch a.shape {
	case vehicle:
		return box{0, 0, 44, 28}
	case band, cord:
		b = box{0, 0, 36, 15}
	}
	if a.weakest {
		b.w, b.h = b.w*1.5, b.h*1.8
	}
	return b
}

func (d *drawing) miniFork(a part, x, y float64) float64 {
	end := x
	ends := make([]float64, len(a.legs))
	at := func(i int) float64 { return y + miniApart*(float64(i)-float64(len(a.legs)-1)/2) }
	for i, leg := range a.legs {
		d.p.stroke(line(x, y, x+10, at(i)), 2, "")
		ends[i] = x + 10
		for _, b := range leg {
			ends[i] = d.bead(b, ends[i], at(i))
		}
		end = max(end, ends[i])
	}
	for i := range a.legs {
		d.p.stroke(line(ends[i], at(i), end, at(i))+line(end, at(i), end+10, y), 2, "")
	}
	return end + 10
}
