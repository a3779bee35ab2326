package plot

import (
	"image/color"
	"math"
	"strconv"

	stdfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

func paper() color.Color { return color.NRGBA{0xfb, 0xf7, 0xee, 0xff} }
func ink() color.Color   { return color.NRGBA{0x1f, 0x1b, 0x16, 0xff} }
func faint() color.Color { return color.NRGBA{0xd8, 0xd0, 0xbf, 0xff} }

const (
	regular = stdfont.WeightNormal
	bold    = stdfont.WeightBold
	left    = text.XLeft
	right   = text.XRight
	top     = text.YTop
	bottom  = text.YBottom
)

// lettering is how a text looks.
func lettering(size vg.Length, weight stdfont.Weight, x text.XAlignment, y text.YAlignment) draw.TextStyle {
	return draw.TextStyle{
		Color: ink(), XAlign: x, YAlign: y, Handler: plot.DefaultTextHandler,
		Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: weight, Size: size},
	}
}

// The lines of a figure.
func hair() draw.LineStyle  { return draw.LineStyle{Color: ink(), Width: 0.6} }
func solid() draw.LineStyle { return draw.LineStyle{Color: ink(), Width: 1.3} }
func dashed() draw.LineStyle {
	return draw.LineStyle{Color: ink(), Width: 1.3, Dashes: []vg.Length{5, 3}}
}
func dotted() draw.LineStyle {
	return draw.LineStyle{Color: ink(), Width: 1.3, Dashes: []vg.Length{1.3, 2.2}}
}

// panel is an empty plot in our looks.
func panel(title, x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = paper()
	p.Title.Text, p.Title.TextStyle, p.Title.Padding = title, lettering(10, bold, text.XCenter, top), 4
	for axis, label := range map[*plot.Axis]string{&p.X: x, &p.Y: y} {
		axis.Label.Text = label
		axis.Color, axis.Width = ink(), 0.8
		axis.Tick.Color, axis.Tick.Width = ink(), 0.6
	}
	p.X.Label.TextStyle = lettering(9, regular, text.XCenter, bottom)
	p.X.Tick.Label = lettering(8.5, regular, text.XCenter, top)
	p.Y.Label.TextStyle = lettering(9, regular, text.XCenter, bottom)
	p.Y.Tick.Label = lettering(8.5, regular, right, text.YCenter)
	p.X.Padding, p.Y.Padding = 4, 4
	return p
}

// steps are ticks at whole multiples of a round step, about so many.
func steps(low, high float64, about int) plot.ConstantTicks {
	raw := (high - low) / float64(about)
	unit := math.Pow(10, math.Floor(math.Log10(raw)))
	step := unit
	for _, m := range []float64{1, 2, 5, 10} {
		if step = m * unit; step >= raw {
			break
		}
	}
	var all plot.ConstantTicks
	for i := math.Ceil(low/step-1e-9) + 0; i*step <= high*(1+1e-9); i++ {
		all = append(all, plot.Tick{Value: i * step, Label: strconv.FormatFloat(math.Round(i*step*1e6)/1e6+0, 'g', 6, 64)})
	}
	return all
}

// markers are the shapes by which grounds are told apart, in their order; with
// more grounds than shapes they begin again, and titles tell.
func marker(i int) draw.GlyphStyle {
	shapes := []draw.GlyphDrawer{
		draw.CircleGlyph{}, draw.PyramidGlyph{}, draw.SquareGlyph{}, draw.CrossGlyph{},
		draw.BoxGlyph{}, draw.RingGlyph{}, draw.PlusGlyph{}, draw.TriangleGlyph{},
	}
	return draw.GlyphStyle{Color: ink(), Radius: 2.6, Shape: shapes[i%len(shapes)]}
}
