package web

import (
	"fmt"
	"html"
	"html/template"
	"regexp"

	"tautlog/calc/words"
)

// text is a text of the pages, whose templates call it so too.
func text(name string, args ...any) string { return words.Say(name, args...) }

// count is a text of the pages about n of something.
func count(name string, n int, args ...any) string { return words.Count(name, n, args...) }

// marked is a part of a text that leads elsewhere: [the cells](1) is a link to
// the first address that is given with the text.
var marked = regexp.MustCompile(`\[([^\]]+)\]\(([1-9])\)`)

// linked is a text with links in it.
func linked(name string, addresses ...string) template.HTML {
	plain := html.EscapeString(text(name))
	return template.HTML(marked.ReplaceAllStringFunc(plain, func(s string) string { //nolint:gosec // both parts are escaped
		m := marked.FindStringSubmatch(s)
		at := int(m[2][0] - '1')
		if at >= len(addresses) {
			panic("web: " + name + " leads to more places than are given")
		}
		return fmt.Sprintf(`<a href="%s">%s</a>`, html.EscapeString(addresses[at]), m[1])
	}))
}

// quoted is a text with what people wrote in it, which stands out.
func quoted(name string, written ...string) template.HTML {
	args := make([]any, len(written))
	for i, w := range written {
		args[i] = `<b class="notes">` + html.EscapeString(w) + `</b>`
	}
	return template.HTML(fmt.Sprintf(html.EscapeString(words.Pattern(name)), args...)) //nolint:gosec // all parts are escaped
}
