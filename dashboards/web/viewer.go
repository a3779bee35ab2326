package web

import (
	"bytes"
	"context"
)

// ownForm marks a form that a viewer may send: it changes what their browser
// keeps, and nothing that others see.
const ownForm = `class="own`

// changingForm begins every form that changes something.
const changingForm = `<form` + ` method="post"`

// forVisitor is the markup of a page, or a part of one, as its visitor gets it:
// a viewer gets none of the forms that would be refused.
func forVisitor(ctx context.Context, markup []byte) []byte {
	v := visitorOf(ctx)
	if v.Operator() || !v.Role.Known() {
		return markup
	}
	return withoutForms(markup)
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
