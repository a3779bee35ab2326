package chain

const (
	tallLine  = 50.0 // where the line hangs in the tall drawing
	tallText  = 102.0
	tallWidth = 372.0

	reasonChars = 36 // that fit right of the line in small type
)

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
	rows := wrap(a.name, int((tallWidth-tallText)/textWidth(a)), 2)
	texts := float64(len(rows)) * 19
	if a.verdict != "" || a.reading != "" || a.share != "" {
		texts += 20
	}
	if a.weakest {
		texts += float64(len(d.reason(a))) * 18
	}
	h := max(size.h, texts) + 18
	b := box{x - size.w/2, y + (h-size.h)/2, size.w, size.h}
	if a.shape != vehicle || !a.first {
		d.p.stroke(line(x, y, x, b.y), 2.5, "")
	}
	if a.shape != vehicle || a.first {
		d.p.stroke(line(x, b.bottom(), x, y+h), 2.5, "")
	}
	d.p.item(a.upright(), b)
	d.words(a, rows, y+(h-texts)/2+15)
	return y + h
}

// words stand right of an item: name, verdict, and for the weakest one why.
func (d *drawing) words(a part, rows []string, y float64) {
	size := 16.0
	if a.weakest {
		size = 18
	}
	y = d.p.lines(tallText, y, size, "start", true, rows)
	switch {
	case a.verdict != "":
		d.p.symbol(a.verdict, tallText+7, y-5, 6.5)
		d.p.text(tallText+21, y, 15, "start", false, a.says())
		y += 19
	case a.share != "":
		d.p.text(tallText, y, 15, "start", false, a.share)
		y += 19
	case a.reading != "":
		d.p.text(tallText, y, 15, "start", false, a.reading)
		y += 19
	}
	if a.weakest {
		d.p.lines(tallText, y, 14, "start", false, d.reason(a))
	}
}

func (d *drawing) reason(a part) []string {
	if d.sentence == "" || !a.weakest {
		return nil
	}
	return wrap(d.sentence, reasonChars, 6)
}

// textWidth is about the width of a letter of an item's name.
func textWidth(a part) float64 {
	if a.weakest {
		return 10
	}
	return 9
}

// tallFork draws the legs one below the other on two lines that hang side by
// side.
func (d *drawing) tallFork(a part, y float64) float64 {
	top := y
	xs := make([]float64, len(a.legs))
	for i := range a.legs {
		xs[i] = tallLine - 19 + 38*float64(i)/float64(max(len(a.legs)-1, 1))
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
