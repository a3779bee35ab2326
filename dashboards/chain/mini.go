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
	x := 2.0
	for _, a := range d.parts {
		x = d.bead(a, x, h/2)
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
	return b.right() + 4
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
