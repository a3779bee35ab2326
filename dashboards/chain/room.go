package chain

import "slices"

// Sizes of type in the wide drawing, and how far its rows lie apart.
const (
	nameSize     = 14.0
	sentenceSize = 17.0
	leading      = 1.2  // of the size of the type
	pointer      = 22.0 // least length of the line to the sentence
)

// room is what parts need: along the line, and up and down from it.
type room struct{ w, up, down float64 }

// beside takes in what stands next along the line.
func (r room) beside(o room) room {
	return room{r.w + o.w, max(r.up, o.up), max(r.down, o.down)}
}

// size is that of the body of a part.
func (a part) size() (w, h float64) {
	w, h = 46, 34
	switch a.shape {
	case band, cord:
		w, h = 112, 26
	case vehicle:
		w, h = 104, 62
	case gap:
		w, h = max(102, span(a.reading, cellSize)+16), 40
	case wheel, ring:
		w, h = 38, 38
	}
	if a.weakest && a.shape != vehicle {
		h *= 1.75
		if a.shape == band || a.shape == cord {
			return w + 44, h
		}
		w *= 1.6
	}
	return w, h
}

// half is how far the body of a part reaches from the line, or the room that
// words keep from the line where that is more.
func (a part) half() float64 {
	_, h := a.size()
	return max(h/2, 24)
}

// shareSize is the size of the type above an item.
func (a part) shareSize() float64 {
	switch {
	case a.verdict == "":
		return nameSize
	case a.weakest:
		return 21
	}
	return 15
}

// base is the width of a part with its name and its share, without what hangs
// from it: the body is in its middle. A long name gets more of it, so that it
// takes about three rows.
func (a part) base() float64 {
	const least, between = 96.0, 12.0
	w, _ := a.size()
	w = max(least, w+between, span(a.share, a.shareSize())+2*a.shareSize())
	long := max(widest(wordsOf(a.name), nameSize), span(a.name, nameSize)/2.6)
	return max(w, min(long, a.mostName)+between)
}

// names are the rows of the name under a part. Beside that of a block the line
// to a sentence may run down.
func (a part) names() []string {
	free := 10.0
	if len(a.hang) > 0 {
		free = 24
	}
	return wrap(a.name, a.base()-free, nameSize)
}

// under is how far the name reaches down from the line.
func (a part) under() float64 {
	return a.half() + 20 + nameSize*leading*float64(len(a.names())-1) + 5
}

// room is that of a part with its words and what hangs from it.
func (a part) room() room {
	r := room{a.base(), a.half() + 12 + a.shareSize(), a.under()}
	for _, h := range a.hang {
		r.w = max(r.w, a.base()/2+hangBody/2+8+h.hangWidth()+10)
		r.down += h.hangHeight()
	}
	return r
}

// The body of what hangs from a block, and the width of its words.
const (
	hangBody  = 34.0
	hangWords = 118.0
)

func (a part) hangNames() []string { return wrap(a.name, hangWords, nameSize) }

func (a part) hangWidth() float64 {
	return max(widest(a.hangNames(), nameSize), span(a.share, nameSize)+26)
}

// hangHeight is that of an item that hangs from a block, with the line to it.
func (a part) hangHeight() float64 {
	words := nameSize * leading * float64(len(a.hangNames())+1)
	return max(hangBody, words) + 12
}

// along is the room of parts one after another.
func (d *drawing) along(parts []part) (all room) {
	for _, a := range parts {
		if len(a.legs) > 0 {
			all = all.beside(d.forked(a).room)
			continue
		}
		all = all.beside(a.room())
	}
	return all
}

// The lines of a fork spread and meet over such a width; between its legs so
// much stays free.
const (
	spread  = 30.0
	between = 14.0
)

// fork is a fork laid out: how far from the line each leg lies, and where in
// it the sentence about its weakest item stands.
type fork struct {
	room
	inner   float64   // width of the longest leg
	lines   []float64 // of the legs, down from the line of the fork
	telling int       // the leg below which the sentence stands, or none
	rows    []string  // of the sentence
	below   float64   // from the line of that leg to the sentence
}

// forked lays the legs of a fork out, one below the other around its line. The
// sentence about an item of the lowest leg stands under the whole chain; that
// about an item of another leg stands right under that leg, because a line to
// it from anywhere else would run through what is below.
func (d *drawing) forked(a part) fork {
	f := fork{telling: -1}
	rooms := make([]room, len(a.legs))
	for i, leg := range a.legs {
		rooms[i] = d.along(leg)
		f.inner = max(f.inner, rooms[i].w)
		if i < len(a.legs)-1 && d.sentence != "" && hasWeakest(leg) {
			f.telling = i
		}
	}
	if i := f.telling; i >= 0 {
		f.inner = max(f.inner, 440)
		f.rows = wrap(d.sentence, f.inner-16, sentenceSize)
		f.below = rooms[i].down + pointer
		rooms[i].down = f.below + sentenceSize*leading*float64(len(f.rows)) + 4
	}
	high := -between
	for _, r := range rooms {
		f.lines = append(f.lines, high+between+r.up)
		high += between + r.up + r.down
	}
	for i := range f.lines {
		f.lines[i] -= high / 2
	}
	f.room = room{f.inner + 2*spread, high / 2, high / 2}
	return f
}

// hasWeakest says whether the weakest item is among some parts, in the legs of
// a fork or in what hangs from a block as well.
func hasWeakest(parts []part) bool {
	return slices.ContainsFunc(parts, func(a part) bool {
		return a.weakest || hasWeakest(a.hang) || slices.ContainsFunc(a.legs, hasWeakest)
	})
}

// toldInside says whether the sentence stands within a fork.
func (d *drawing) toldInside() bool {
	return slices.ContainsFunc(d.parts, func(a part) bool { return len(a.legs) > 0 && d.forked(a).telling >= 0 })
}
