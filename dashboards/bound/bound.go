// Package bound keeps a number and its unit on one line, on pages, in reports
// and in drawings: the space between them becomes one that no line ends at. What
// commands print and what files hold has plain spaces.
package bound

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Space is the space at which no line ends (U+00A0). A browser copies it as a
// plain one, and package unit reads both.
const Space = "\u00a0"

// units are what stands behind a number, the longer before what it begins with.
var units = []string{
	"kN·s", "kN/m", "kN/s", "kN", "kJ", "kgf", "kg", "km/h", "km", "kB", "N·s", "N/m", "N", "MB", "GB", "Hz",
	"mm", "ms", "min", "m/s", "m", "cm", "lbf", "lb", "ft", "t·s", "t/s", "t", "h", "s", "J", "°", "%", "×", "µs",
}

// Units lists what is kept with the number before it, for a script: one word.
func Units() string { return strings.Join(units, "|") }

// Text binds what belongs together in a text.
func Text(s string) string { return string(text(nil, []byte(s))) }

// text appends s to out, bound.
func text(out, s []byte) []byte {
	for at, c := range s {
		if c == ' ' && (afterNumber(s[:at]) && unitFirst(s[at+1:]) || besideSign(s, at)) {
			out = append(out, Space...)
			continue
		}
		out = append(out, c)
	}
	return out
}

func afterNumber(s []byte) bool { return len(s) > 0 && '0' <= s[len(s)-1] && s[len(s)-1] <= '9' }

// unitFirst says whether s begins with a unit, and not with a word that does.
func unitFirst(s []byte) bool {
	for _, u := range units {
		if rest, ok := bytes.CutPrefix(s, []byte(u)); ok {
			r, _ := utf8.DecodeRune(rest)
			return len(rest) == 0 || !unicode.IsLetter(r) && !unicode.IsDigit(r)
		}
	}
	return false
}

// besideSign says whether the space at that place is one beside a ± with a
// number before it.
func besideSign(s []byte, at int) bool {
	return afterNumber(s[:at]) && bytes.HasPrefix(s[at+1:], []byte("± ")) ||
		bytes.HasSuffix(s[:at], []byte(" ±")) && at > 3 && afterNumber(s[:at-len(" ±")])
}

// verbatim are the elements whose text is no prose: a program, what somebody
// types, a value of a list, and drawings, which are laid out already.
var verbatim = []string{"script", "style", "textarea", "option", "pre", "svg", "title"}

// Markup binds the texts of a page or a part of one. Tags, with what stands in
// their attributes, stay as they are.
func Markup(page []byte) []byte {
	out := make([]byte, 0, len(page)+len(page)/64)
	for len(page) > 0 {
		open := bytes.IndexByte(page, '<')
		if open < 0 {
			return text(out, page)
		}
		out = text(out, page[:open])
		end := open + tag(page[open:])
		if name := nameOf(page[open:end]); name != "" {
			if i := bytes.Index(page[end:], []byte("</"+name)); i >= 0 {
				end += i
			}
		}
		out, page = append(out, page[open:end]...), page[end:]
	}
	return out
}

// nameOf is the name of a verbatim element that a tag opens; empty of others.
func nameOf(tag []byte) string {
	for _, name := range verbatim {
		if rest, ok := bytes.CutPrefix(tag, []byte("<"+name)); ok && len(rest) > 0 && (rest[0] == '>' || rest[0] == ' ') {
			return name
		}
	}
	return ""
}

// tag is the length of the tag that s begins with; a > in quotes does not end it.
func tag(s []byte) int {
	quote := byte(0)
	for i, c := range s {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return i + 1
		}
	}
	return len(s)
}
