package web

import (
	"bytes"
	"context"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"tautlog/dashboards/bound"
)

// ownForm marks a form that a viewer may send: it changes what their browser
// keeps, and nothing that others see.
const ownForm = `class="own`

// changingForm begins every form that changes something.
const changingForm = `<form` + ` method="post"`

// sent is the markup of a page, or a part of one, as it is sent: what its
// visitor may see, with numbers and their units on one line.
func (s *server) sent(ctx context.Context, markup []byte) []byte {
	return bound.Markup(s.forVisitor(ctx, markup))
}

// forVisitor is the markup of a page, or a part of one, as its visitor gets it:
// a viewer gets none of the forms that would be refused, and no link to a page
// that would be, or to what is left out.
func (s *server) forVisitor(ctx context.Context, markup []byte) []byte {
	v := visitorOf(ctx)
	if v.Operator() || !v.Role.Known() {
		return markup
	}
	return withoutBareHeads(s.withoutLinks(withoutBareHeads(withoutForms(markup))))
}

// bareHeads are headings with nothing below them: what stood there was a form,
// or led to one.
var bareHeads = []*regexp.Regexp{
	regexp.MustCompile(`<h3[^>]*>[^<]*</h3>\s*(<h[23]|</section>|</main>)`),
	regexp.MustCompile(`<h2[^>]*>[^<]*</h2>\s*(<h2|</section>|</main>)`),
}

// withoutBareHeads leaves out headings that have nothing below them any more.
func withoutBareHeads(markup []byte) []byte {
	for _, bare := range bareHeads {
		for bare.Match(markup) { // one may come free by another
			markup = bare.ReplaceAll(markup, []byte("$1"))
		}
	}
	return markup
}

// withoutForms leaves the forms that change something out of what stands in the
// main part of a page, and with a form what opens to show it. What people wrote
// stands in the markup with its angles escaped, so that none of it looks like a
// tag.
func withoutForms(markup []byte) []byte {
	var out bytes.Buffer
	head, rest, whole := bytes.Cut(markup, []byte("<main"))
	if whole {
		out.Write(head)
		out.WriteString("<main")
	} else {
		rest = markup
	}
	for {
		from := bytes.Index(rest, []byte(changingForm))
		if from < 0 {
			break
		}
		tag, _, _ := bytes.Cut(rest[from:], []byte(">"))
		end := after(rest, from, "</form>")
		if bytes.Contains(tag, []byte(ownForm)) {
			out.Write(rest[:end])
			rest = rest[end:]
			continue
		}
		if opens := bytes.LastIndex(rest[:from], []byte("<details")); opens > bytes.LastIndex(rest[:from], []byte("</details>")) {
			from, end = opens, after(rest, end, "</details>")
		}
		out.Write(rest[:from])
		rest = rest[end:]
	}
	out.Write(rest)
	return out.Bytes()
}

// after is where a tag that comes after from ends.
func after(markup []byte, from int, tag string) int {
	i := bytes.Index(markup[from:], []byte(tag))
	if i < 0 {
		panic("web: a form that is not closed")
	}
	return from + i + len(tag)
}

// closedOf knows, of the routes of a table, those that a viewer is refused.
func closedOf(routes []route) *http.ServeMux {
	mux := http.NewServeMux()
	for _, rt := range routes {
		if rt.operators && rt.effect == showing {
			mux.Handle(rt.pattern, http.NotFoundHandler())
		}
	}
	return mux
}

var (
	anchor = regexp.MustCompile(`(?s)<a [^>]*?href="([^"]*)"[^>]*>(.*?)</a>`)
	hollow = regexp.MustCompile(`<p class="ways">\s*</p>|<li>\s*</li>`)
)

// withoutLinks leaves out the links that lead a viewer nowhere. Of one within a
// sentence the words stay.
func (s *server) withoutLinks(markup []byte) []byte {
	var out bytes.Buffer
	kept := 0
	for _, at := range anchor.FindAllSubmatchIndex(markup, -1) {
		if !s.leadsNowhere(markup, html.UnescapeString(string(markup[at[2]:at[3]]))) {
			continue
		}
		out.Write(markup[kept:at[0]])
		before, behind := bytes.TrimSpace(markup[:at[0]]), bytes.TrimSpace(markup[at[1]:])
		if !bytes.HasSuffix(before, []byte(">")) || !bytes.HasPrefix(behind, []byte("<")) {
			out.Write(markup[at[4]:at[5]])
		}
		kept = at[1]
	}
	if kept == 0 {
		return markup
	}
	out.Write(markup[kept:])
	return hollow.ReplaceAll(out.Bytes(), nil)
}

// leadsNowhere says whether a viewer is refused what a link leads to, or it is
// a place of this page that was left out. A part of a page does not tell of its
// other places.
func (s *server) leadsNowhere(markup []byte, to string) bool {
	if place, own := strings.CutPrefix(to, "#"); own {
		return place != "" && bytes.Contains(markup, []byte("<main")) && !bytes.Contains(markup, []byte(`id="`+place+`"`))
	}
	u, err := url.Parse(to)
	if err != nil || u.Host != "" {
		return false
	}
	_, pattern := s.closed.Handler(&http.Request{Method: http.MethodGet, URL: u})
	return pattern != ""
}
