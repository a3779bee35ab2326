// Package words is what the program says to people on pages and in reports, by
// name. The English texts stand in english/*.json, one file for each area; a
// translation is one document of the same texts, put to use when the program
// starts. What is logged, what commands print of themselves, and what people
// type and the program reads is not here.
//
// A text is a format of package fmt. Its arguments come in the order of the
// English one; a translation that wants another order writes %[2]s.
package words

import (
	"fmt"
	"strings"
	"sync/atomic"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// forms are the ways in which a text is said: one for each plural form of its
// language that is used, by the names of CLDR ("one", "other" and so on). A
// text that counts nothing has "other" alone.
type forms map[string]string

// other is the form that every text has.
const other = "other"

// spoken is a language in use: its texts over the English ones.
type spoken struct {
	tag   language.Tag
	texts map[string]forms
}

var inUse atomic.Pointer[spoken]

func init() { inUse.Store(&spoken{tag: language.English, texts: english}) }

// Language is the tag (BCP 47) of the language in use, such as "en".
func Language() string { return inUse.Load().tag.String() }

// Say gives the text of a name with its arguments put in. An unknown name is a
// programmer's mistake and panics.
func Say(name string, args ...any) string {
	_, f := find(name)
	return put(f[other], args)
}

// Pattern gives the text of a name as it stands, for a script that puts its
// arguments in.
func Pattern(name string) string {
	_, f := find(name)
	return f[other]
}

// put puts arguments into a text. One that says none of them (a plural form such
// as "one pull") is no mistake.
func put(say string, args []any) string {
	plain := strings.ReplaceAll(say, "%%", "")
	if !strings.Contains(plain, "%") {
		return strings.ReplaceAll(say, "%%", "%")
	}
	return fmt.Sprintf(say, args...)
}

// Known says whether there is a text of that name.
func Known(name string) bool {
	_, there := english[name]
	return there
}

// Count gives the text of a name in the form that its language uses for n of
// something. n is its first argument, which a form need not say ("one pull").
func Count(name string, n int, args ...any) string {
	tag, f := find(name)
	say, there := f[formOf(tag, n)]
	if !there {
		say = f[other]
	}
	return put(say, append([]any{grouped{tag, n}}, args...))
}

// Error gives the text of a name as an error. %w in it wraps its argument.
func Error(name string, args ...any) error {
	_, f := find(name)
	return fmt.Errorf(f[other], args...)
}

// find gives a text and the language that it is in: English where a
// translation has none.
func find(name string) (language.Tag, forms) {
	now := inUse.Load()
	if f, ok := now.texts[name]; ok {
		return now.tag, f
	}
	f, ok := english[name]
	if !ok {
		panic("words: no text " + name)
	}
	return language.English, f
}

// formOf is the name of the form for n of something.
func formOf(tag language.Tag, n int) string {
	return formNames[plural.Cardinal.MatchPlural(tag, max(n, -n), 0, 0, 0, 0)]
}

var formNames = map[plural.Form]string{
	plural.Other: other, plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many",
}
