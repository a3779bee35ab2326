// Package plot draws the charts of analysis/shock, and the trace of a pull, for
// reports: ink on warm paper, as SVG or PNG, with shapes and words where others
// use colour, so that they can be read when printed in grey.
//
// It draws what a chart holds and calculates nothing. It does not draw rigs (package
// chain).
package plot

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"tautlog/calc/words"
)

// Figure is a drawing that is ready to be written.
type Figure struct {
	// Title and Caption stand above the panels; in an SVG they are its
	// accessible name and description too.
	Title, Caption string

	panels        [][]*plot.Plot
	key           []sample
	width, height vg.Length
}

// Lower gives the figure as much of its height as a share says.
func (f Figure) Lower(share float64) Figure {
	f.height *= vg.Length(share)
	return f
}

// phone is the width of a figure on a phone: 360 of its pixels.
const phone = 270

// Narrow gives the figure the width of a phone, where its letters stay as large
// as on a sheet.
func (f Figure) Narrow() Figure {
	f.width, f.height = phone, 250
	return f
}

// Shape is the height of the figure over its width.
func (f Figure) Shape() float64 { return float64(f.height / f.width) }

// dpi is how many pixels a PNG has per inch.
const dpi = 150

// SVG writes the figure as SVG.
func (f Figure) SVG(w io.Writer) error {
	c := vgsvg.New(f.width, f.height)
	f.draw(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return words.Error("plot.unwritten", err)
	}
	if _, err := io.WriteString(w, f.named(b.String())); err != nil {
		return words.Error("plot.unwritten", err)
	}
	return nil
}

// named gives an SVG its accessible name and description.
func (f Figure) named(svg string) string {
	at := strings.Index(svg, "<svg")
	end := at + strings.IndexByte(svg[at:], '>')
	return svg[:at] + `<svg role="img" aria-labelledby="title desc"` + svg[at+len("<svg"):end+1] +
		"\n<title id=\"title\">" + escaped(f.Title) + "</title>\n<desc id=\"desc\">" + escaped(f.Caption) + "</desc>" + svg[end+1:]
}

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}

// PNG writes the figure as PNG.
func (f Figure) PNG(w io.Writer) error {
	c := vgimg.NewWith(vgimg.UseWH(f.width, f.height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper()))
	f.draw(draw.New(c))
	if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(w); err != nil {
		return words.Error("plot.unwritten", err)
	}
	return nil
}

// The parts of a figure: margins, the lines of its head, the key below.
const (
	margin = 12
	line   = 13
	keyRow = 15
)

// draw draws title, caption, panels and key from the top to the bottom.
func (f Figure) draw(c draw.Canvas) {
	c.FillPolygon(paper(), []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	y := c.Max.Y - margin
	c.FillText(lettering(13, bold, left, top), vg.Point{X: margin, Y: y}, f.Title)
	y -= 20
	small := lettering(9, regular, left, top)
	for _, s := range wrapped(f.Caption, small, f.width-2*margin) {
		c.FillText(small, vg.Point{X: margin, Y: y}, s)
		y -= line
	}
	rows := f.keyRows()
	foot := vg.Length(margin + keyRow*len(rows))
	const gap = 8
	area := draw.Crop(c, margin, -margin, foot+gap, y-6-c.Max.Y)
	tiles := draw.Tiles{Rows: len(f.panels), Cols: len(f.panels[0]), PadX: 10, PadY: 14}
	for i, row := range plot.Align(f.panels, tiles, area) {
		for j, at := range row {
			if f.panels[i][j] != nil {
				f.panels[i][j].Draw(at)
			}
		}
	}
	for i, row := range rows {
		row.draw(c, vg.Point{X: margin, Y: foot - vg.Length(i)*keyRow - keyRow/2})
	}
}

// wrapped breaks a text into lines of at most so much width.
func wrapped(text string, style draw.TextStyle, width vg.Length) (all []string) {
	at := ""
	for _, word := range strings.Fields(text) {
		if at != "" && style.Width(at+" "+word) > width {
			all = append(all, at)
			at = ""
		}
		at = strings.TrimSpace(at + " " + word)
	}
	return append(all, at)
}

// grid arranges panels in rows of at most three.
func grid(panels []*plot.Plot) (rows [][]*plot.Plot) {
	const most = 3
	columns := min(len(panels), most)
	for i := 0; i < len(panels); i += columns {
		row := make([]*plot.Plot, columns)
		copy(row, panels[i:min(i+columns, len(panels))])
		rows = append(rows, row)
	}
	return rows
}
