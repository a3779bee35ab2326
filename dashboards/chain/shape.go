package chain

import "fmt"

// shape is how an item is drawn.
type shape int

const (
	plain   shape = iota // an item without a drawing of its own
	vehicle              // an end of the chain
	point                // a plate with a hole: recovery points, ball hitches, tie-downs
	bolted               // what holds a point: a bracket with its bolts
	bow                  // shackles
	soft                 // soft shackles
	band                 // straps and bridle legs
	cord                 // ropes and winch lines
	ring                 // rings and rigging plates
	hook                 //
	drum                 // winches
	wheel                // blocks and redirects
	stake                // anchors
	gap                  // the load cell
)

// box is the room for one drawing; the line runs through the middle of it.
type box struct{ x, y, w, h float64 }

func (b box) midX() float64   { return b.x + b.w/2 }
func (b box) midY() float64   { return b.y + b.h/2 }
func (b box) right() float64  { return b.x + b.w }
func (b box) bottom() float64 { return b.y + b.h }

// inset takes dx off both sides and dy off top and bottom.
func (b box) inset(dx, dy float64) box {
	return box{b.x + dx, b.y + dy, b.w - 2*dx, b.h - 2*dy}
}

// outline is the closed path of a shape: it is stroked, and clips the fill.
func outline(s shape, b box) string {
	switch s {
	case vehicle:
		return carPath(b)
	case bow:
		return bowPath(b)
	case soft, wheel, ring:
		return ellipsePath(b)
	case band:
		return roundPath(b, min(b.h, b.w)*0.16)
	case cord:
		return roundPath(b, min(b.h, b.w)*0.5)
	case hook:
		return hookPath(b)
	case drum, plain, gap, bolted:
		return roundPath(b, 3)
	case stake:
		return fmt.Sprintf("M%s %sL%s %sL%s %sZ", num(b.x), num(b.y), num(b.right()), num(b.y), num(b.midX()), num(b.bottom()))
	case point:
		return platePath(b)
	}
	return roundPath(b, 3)
}

// details are strokes inside the outline that make the thing recognisable.
func details(s shape, b box) string {
	switch s {
	case vehicle:
		return carDetails(b)
	case bow: // the pin, with its head standing out
		x := b.x + b.w*0.12
		return line(x, b.y-b.h*0.1, x, b.bottom()+b.h*0.1) + line(x-b.w*0.1, b.y-b.h*0.1, x+b.w*0.1, b.y-b.h*0.1)
	case soft: // the knot
		return ellipsePath(box{b.right() - b.w*0.18, b.midY() - b.w*0.09, b.w * 0.18, b.w * 0.18})
	case band: // the stitched eyes
		return line(b.x+b.w*0.18, b.y, b.x+b.w*0.18, b.bottom()) + line(b.right()-b.w*0.18, b.y, b.right()-b.w*0.18, b.bottom())
	case cord: // the lay
		return lay(b)
	case drum:
		return line(b.x+b.w*0.25, b.y, b.x+b.w*0.25, b.bottom()) + line(b.midX(), b.y, b.midX(), b.bottom()) + line(b.x+b.w*0.75, b.y, b.x+b.w*0.75, b.bottom())
	case wheel, ring:
		return ellipsePath(b.inset(b.w*0.32, b.h*0.32))
	case bolted: // two bolts
		d := min(b.w, b.h) * 0.26
		return ellipsePath(box{b.midX() - d/2, b.y + b.h*0.14, d, d}) + ellipsePath(box{b.midX() - d/2, b.bottom() - b.h*0.14 - d, d, d})
	case point:
		return ellipsePath(box{b.right() - b.w*0.42, b.midY() - b.w*0.13, b.w * 0.26, b.w * 0.26})
	}
	return ""
}

func line(x1, y1, x2, y2 float64) string {
	return fmt.Sprintf("M%s %sL%s %s", num(x1), num(y1), num(x2), num(y2))
}

func roundPath(b box, r float64) string {
	return fmt.Sprintf("M%s %sH%sA%[5]s %[5]s 0 0 1 %[6]s %[7]sV%[8]sA%[5]s %[5]s 0 0 1 %[3]s %[9]sH%[1]sA%[5]s %[5]s 0 0 1 %[4]s %[8]sV%[7]sA%[5]s %[5]s 0 0 1 %[1]s %[2]sZ",
		num(b.x+r), num(b.y), num(b.right()-r), num(b.x), num(r), num(b.right()), num(b.y+r), num(b.bottom()-r), num(b.bottom()))
}

func ellipsePath(b box) string {
	return fmt.Sprintf("M%s %sA%[3]s %[4]s 0 1 1 %[5]s %[2]sA%[3]s %[4]s 0 1 1 %[1]s %[2]sZ",
		num(b.x), num(b.midY()), num(b.w/2), num(b.h/2), num(b.right()))
}

// bowPath is a shackle lying along the line: narrow at the pin, round at the bow.
func bowPath(b box) string {
	return fmt.Sprintf("M%s %sL%s %sC%s %s %[5]s %[7]s %[8]s %[9]sL%[1]s %[10]sZ",
		num(b.x), num(b.y+b.h*0.2),
		num(b.x+b.w*0.4), num(b.y+b.h*0.06),
		num(b.right()+b.w*0.2), num(b.y-b.h*0.3),
		num(b.bottom()+b.h*0.3), num(b.x+b.w*0.4), num(b.bottom()-b.h*0.06),
		num(b.bottom()-b.h*0.2))
}

// platePath is a plate whose free end is rounded.
func platePath(b box) string {
	r := min(b.h/2, b.w*0.5)
	return fmt.Sprintf("M%s %sH%sA%[4]s %[5]s 0 0 1 %[3]s %[6]sH%[1]sZ",
		num(b.x), num(b.y), num(b.right()-r), num(r), num(b.h/2), num(b.bottom()))
}

// hookPath is an open hook, thick enough to be filled.
func hookPath(b box) string {
	return fmt.Sprintf("M%s %sH%sC%s %s %[4]s %[6]s %[3]s %[6]sH%[7]sV%[8]sH%[3]sC%[9]s %[8]s %[9]s %[10]s %[3]s %[10]sH%[1]sZ",
		num(b.x), num(b.y+b.h*0.1), num(b.x+b.w*0.5), num(b.right()+b.w*0.15), num(b.y+b.h*0.1),
		num(b.bottom()), num(b.x+b.w*0.3), num(b.bottom()-b.h*0.25), num(b.x+b.w*0.75), num(b.y+b.h*0.38))
}

func lay(b box) string {
	d := ""
	n := max(int(b.w/14), 3)
	for i := 1; i < n; i++ {
		x := b.x + b.w*float64(i)/float64(n)
		d += line(x-b.h*0.2, b.bottom()-b.h*0.08, x+b.h*0.2, b.y+b.h*0.08)
	}
	return d
}

// carPath is a plain side view of a vehicle: it stands for any of them.
func carPath(b box) string {
	g := b.bottom() - b.h*0.16 // underside
	return fmt.Sprintf("M%s %sV%sL%s %sL%s %sH%sL%s %sH%sV%sZ",
		num(b.x), num(g), num(b.y+b.h*0.42),
		num(b.x+b.w*0.16), num(b.y+b.h*0.4),
		num(b.x+b.w*0.28), num(b.y+b.h*0.05), num(b.x+b.w*0.68),
		num(b.x+b.w*0.74), num(b.y+b.h*0.4), num(b.right()), num(g))
}

func carDetails(b box) string {
	r := b.h * 0.19
	d := ""
	for _, x := range []float64{b.x + b.w*0.22, b.x + b.w*0.78} {
		d += ellipsePath(box{x - r, b.bottom() - 2*r, 2 * r, 2 * r})
	}
	return d
}
