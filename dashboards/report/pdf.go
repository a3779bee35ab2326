package report

import (
	"bytes"
	"fmt"
	"io"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"tautlog/analysis/rating"
	"tautlog/calc/words"
	"tautlog/dashboards/bound"
	"tautlog/dashboards/chain"
)

// The sheet, in millimetres: A4 with its margins.
const (
	edge  = 16.0
	width = 210 - 2*edge
	tall  = 297.0
	row   = 5.0 // height of a line of text
	face  = "Liberation"
)

// sheet is the PDF that is being written.
type sheet struct{ *fpdf.Fpdf }

// WritePDF writes the document as PDF. The same document gives the same bytes.
func (d Document) WritePDF(w io.Writer) error {
	s := sheet{fpdf.New("P", "mm", "A4", "")}
	s.SetCatalogSort(true)
	s.SetCreationDate(d.Made)
	s.SetModificationDate(d.Made)
	s.SetTitle(d.Title, true)
	s.SetLang(words.Language())
	s.AddUTF8FontFromBytes(face, "", liberationsansregular.TTF)
	s.AddUTF8FontFromBytes(face, "B", liberationsansbold.TTF)
	s.SetMargins(edge, edge, edge)
	s.SetAutoPageBreak(true, edge+4)
	s.AliasNbPages("")
	s.SetFooterFunc(func() {
		s.SetY(-edge)
		s.SetFont(face, "", 8)
		s.CellFormat(width-30, 4, d.Foot, "", 0, "L", false, 0, "")
		s.CellFormat(30, 4, words.Say("report.page", s.PageNo(), "{nb}"), "", 0, "R", false, 0, "")
	})
	s.AddPage()
	s.write("B", 18, 9, d.Title)
	for _, b := range d.Blocks {
		if err := s.block(b); err != nil {
			return err
		}
	}
	if err := s.Output(w); err != nil {
		return fmt.Errorf("report: the PDF cannot be written: %w", err)
	}
	return nil
}

func (s sheet) write(style string, size, height float64, text string) {
	s.SetFont(face, style, size)
	s.MultiCell(width, height, bound.Text(text), "", "L", false)
}

func (s sheet) block(b Block) error {
	switch b := b.(type) {
	case Heading:
		if b.Page {
			s.AddPage()
		} else {
			s.room(30)
		}
		s.Ln(3)
		s.write("B", 17-2*float64(b.Level), 7, b.Text)
	case Words:
		s.write("", 10, row, b.Text)
		s.Ln(1)
	case List:
		for _, it := range b.Items {
			s.listed(it)
		}
		s.Ln(1)
	case Steps:
		for _, it := range b.Items {
			if err := s.marked(it.Verdict, it.About, it.Text); err != nil {
				return err
			}
		}
	case Table:
		s.table(b)
	case Verdict:
		return s.verdict(b)
	case Chain:
		svg, err := b.svg(chain.Paper)
		if err != nil {
			return err
		}
		return s.drawing(svg, edge, 0, width)
	case Figure:
		return s.figure(b)
	}
	return nil
}

// inset is how far the text of a list and of a verdict stands behind its mark.
const inset = 6.0

// listed writes an entry of a list behind its dash and does not part it over two
// pages.
func (s sheet) listed(text string) {
	s.room(s.high("", text, width-inset))
	s.SetFont(face, "", 10)
	s.CellFormat(inset, row, "–", "", 0, "L", false, 0, "")
	s.behind("", text)
}

// behind writes a text behind a mark.
func (s sheet) behind(style, text string) {
	s.SetFont(face, style, 10)
	s.SetX(edge + inset)
	s.MultiCell(width-inset, row, bound.Text(text), "", "L", false)
	s.SetX(edge)
}

// marked writes a text with a bold line above it behind the symbol of a
// verdict, or a dash where there is none, and does not part it over two pages.
func (s sheet) marked(v rating.Verdict, about, text string) error {
	s.room(s.high("B", about, width-inset) + s.high("", text, width-inset))
	if v == "" {
		s.SetFont(face, "", 10)
		s.CellFormat(inset, row, "–", "", 0, "L", false, 0, "")
	} else if err := s.drawing(string(chain.Symbol(v)), edge, s.GetY()+0.6, 4); err != nil {
		return err
	}
	s.behind("B", about)
	s.behind("", text)
	s.Ln(1)
	return nil
}

// high is the height of a text in a column so wide.
func (s sheet) high(style, text string, w float64) float64 {
	if text == "" {
		return 0
	}
	s.SetFont(face, style, 10)
	return row * float64(len(s.SplitText(bound.Text(text), w-2)))
}

// room begins a page where less than so much is left.
func (s sheet) room(height float64) {
	if s.GetY()+height > tall-edge-4 {
		s.AddPage()
	}
}

func (s sheet) table(t Table) {
	rows, style := t.Rows, ""
	if len(t.Head) > 0 {
		rows, style = append([][]string{t.Head}, rows...), "B"
	}
	for _, cells := range rows {
		s.cells(cells, t.columns(len(cells)), style)
		style = ""
	}
	s.Ln(1)
}

// columns are the widths of n columns on the sheet.
func (t Table) columns(n int) []float64 {
	out := make([]float64, n)
	const first = 48.0
	for i := range out {
		switch {
		case i < len(t.Widths):
			out[i] = width * t.Widths[i]
		case i == 0:
			out[i] = first
		default:
			out[i] = (width - first) / float64(n-1)
		}
	}
	return out
}

// cells writes one row of a table.
func (s sheet) cells(cells []string, widths []float64, style string) {
	s.SetFont(face, style, 9.5)
	lines := 1
	for i, c := range cells {
		lines = max(lines, len(s.SplitText(bound.Text(c), widths[i]-2)))
	}
	s.room(row * float64(lines))
	y, x, low := s.GetY(), edge, s.GetY()
	for i, c := range cells {
		s.SetXY(x, y)
		s.MultiCell(widths[i], row, bound.Text(c), "", "L", false)
		x, low = x+widths[i], max(low, s.GetY())
	}
	s.SetDrawColor(200, 192, 175)
	s.SetLineWidth(0.1)
	s.Line(edge, low, edge+width, low)
	s.SetDrawColor(0, 0, 0)
	s.SetXY(edge, low)
}

func (s sheet) verdict(v Verdict) error { return s.marked(v.Verdict, v.Head(), v.Reason) }

func (s sheet) figure(f Figure) error {
	var b bytes.Buffer
	drawn := f.drawn()
	if err := drawn.PNG(&b); err != nil {
		return err
	}
	o := fpdf.ImageOptions{ImageType: "PNG"}
	s.RegisterImageOptionsReader(f.ID, o, &b)
	height := width * drawn.Shape()
	s.room(height)
	y := s.GetY()
	s.ImageOptions(f.ID, edge, y, width, height, false, o, 0, "")
	s.SetY(y + height + 2)
	return nil
}
