package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"tautlog/calc/words"
	"tautlog/dashboards/bound"
	"tautlog/dashboards/chain"
	"tautlog/dashboards/plot"
)

//go:embed report.html
var page string

// WriteHTML writes the document as one HTML file that needs no other and holds
// no script.
func (d Document) WriteHTML(w io.Writer) error {
	t, err := template.New("report").Funcs(template.FuncMap{
		"symbol": chain.Symbol, "chain": drawnChain, "figure": drawnTrace, "narrow": narrowTrace, "language": words.Language,
	}).Parse(page)
	if err != nil {
		return fmt.Errorf("report: the report's page is broken: %w", err)
	}
	var b bytes.Buffer // so that a failure leaves nothing half written
	if err := t.Execute(&b, d); err != nil {
		return fmt.Errorf("report: the report cannot be written: %w", err)
	}
	_, err = w.Write(bound.Markup(b.Bytes()))
	return err
}

// svg is the chain as markup; package chain escapes every name in it.
func (c Chain) svg(f chain.Form) (string, error) {
	var b strings.Builder
	err := chain.SVG(&b, c.Rig, c.Result, chain.Options{Form: f, Unit: c.Unit, ID: c.ID, Reading: c.Reading, Readings: c.Readings})
	return b.String(), err
}

// drawnChain is the chain for paper and, in its place, for a phone.
func drawnChain(c Chain) (template.HTML, error) {
	paper, err := c.svg(chain.Paper)
	if err != nil {
		return "", err
	}
	tall, err := c.svg(chain.Tall)
	return template.HTML(paper + tall), err //nolint:gosec // see svg
}

// drawnTrace is a trace as markup for paper.
func drawnTrace(f Figure) (template.HTML, error) { return traceSVG(f.drawn(), f.ID) }

// narrowTrace is a trace as markup for a phone.
func narrowTrace(f Figure) (template.HTML, error) {
	return traceSVG(f.drawn().Narrow(), f.ID+"-phone")
}

// traceSVG is a trace as markup, its names made unique on the page.
func traceSVG(f plot.Figure, id string) (template.HTML, error) {
	var b strings.Builder
	err := f.SVG(&b)
	s := b.String()
	s = s[max(strings.Index(s, "<svg"), 0):]
	s = strings.NewReplacer(`id="title"`, `id="`+id+`-title"`, `id="desc"`, `id="`+id+`-desc"`,
		`"title desc"`, `"`+id+`-title `+id+`-desc"`).Replace(s)
	return template.HTML(s), err //nolint:gosec // package plot escapes every name
}
