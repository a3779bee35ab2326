package web

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/bound"
	"tautlog/dashboards/chain"
)

//go:embed pages/*.html
var pageFiles embed.FS

// pages holds one template per page, each with the frame around it.
type pages map[string]*template.Template

// frame is what every page is given: what was chosen, and its own content.
type frame struct {
	Title   string
	Here    string // path, for the way back from a choice
	Section string // first part of the path, for the mark on the way
	Choice  choice
	Units   []unit.ForceUnit
	Token   string // of the forms of the frame, which never change the store that is shown
	Demo    bool
	Sample  bool   // these are pages of the sample day
	Instead string // the store that is shown in place of the own one, where it is none of the sample
	Own     string // what the own one is called then
	Built   bool
	Assets  string
	// Cautioned says that the page itself has the cautions, beside its load.
	Cautioned bool
	Taut      bool // how the line under the head hangs
	Visitor   visitor
	Body      any
}

func loadPages() (pages, error) {
	funcs := template.FuncMap{"text": text, "count": count, "linked": linked, "quoted": quoted, "described": described, "grounds": commonGrounds, "pattern": words.Pattern, "language": words.Language, "units": bound.Units, "dated": words.DateOf, "number": func(n int) string { return fmt.Sprint(words.Number(n)) }, "symbol": chain.Symbol, "sentence": sentence, "cautions": cautions, "json": asText, "figure": figureOf, "inc": func(i int) int { return i + 1 }, "list": func(all ...any) []any { return all }}
	base, err := template.New("").Funcs(funcs).ParseFS(pageFiles, "pages/frame.html", "pages/part-*.html")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	out := pages{}
	entries, err := pageFiles.ReadDir("pages")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), ".html")
		if name == "frame" || strings.HasPrefix(name, "part-") {
			continue
		}
		own, err := template.Must(base.Clone()).ParseFS(pageFiles, "pages/"+e.Name())
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		out[name] = own
	}
	return out, nil
}

// show answers with a page.
func (s *server) show(w http.ResponseWriter, r *http.Request, page, title string, body any) error {
	return s.showAs(w, r, http.StatusOK, page, title, body)
}

// showAs answers with a page and another status: with a form, say, that was
// refused and is shown as it was typed.
func (s *server) showAs(w http.ResponseWriter, r *http.Request, status int, page, title string, body any) error {
	var b bytes.Buffer
	if err := s.write(&b, r, page, title, body); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, err := w.Write(s.sent(r.Context(), b.Bytes()))
	return err
}

func (s *server) write(w io.Writer, r *http.Request, page, title string, body any) error {
	section, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if section == "vehicles" { // they stand under Gear
		section = "gear"
	}
	f := frame{
		Title: title, Here: r.URL.RequestURI(), Section: section, Choice: chosen(r), Units: shownUnits,
		Token: s.tokenFor(r.Context(), ""), Demo: s.Demo, Sample: s.ofSample, Instead: s.instead, Own: s.own, Built: s.assets.built, Assets: "/assets/" + s.assets.version, Body: body,
		Visitor: visitorOf(r.Context()),
	}
	if t, ok := body.(interface{ taut() bool }); ok {
		f.Taut = t.taut()
	}
	_, f.Cautioned = body.(interface{ cautioned() })
	t, ok := s.pages[page]
	if !ok {
		panic("web: no page " + page)
	}
	return t.ExecuteTemplate(w, "frame", f)
}

// fragment answers with a part of a page.
func (s *server) fragment(w http.ResponseWriter, r *http.Request, page, name string, body any) error {
	var b bytes.Buffer
	if err := s.pages[page].ExecuteTemplate(&b, name, body); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, err := w.Write(s.sent(r.Context(), b.Bytes()))
	return err
}

// asText writes v as JSON, for a script to read from an attribute.
func asText(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}
