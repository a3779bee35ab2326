package words

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/language"
)

// document is a language as a file: its tag (BCP 47) and its texts by name.
type document struct {
	Language string           `json:"language"`
	Texts    map[string]forms `json:"texts"`
}

// Write writes the texts in use as one document: what a translator starts from.
func Write(w io.Writer) error {
	now := inUse.Load()
	d := document{Language: now.tag.String(), Texts: map[string]forms{}}
	for name := range english {
		_, d.Texts[name] = find(name)
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "\t")
	return e.Encode(d)
}

// Use has the texts of a document said from now on, and the English ones where
// it has none. A document that names a text that there is not, or whose text
// takes other arguments than the English one, is refused whole. It is called
// once, before anything is said.
func Use(r io.Reader) error {
	var d document
	e := json.NewDecoder(r)
	e.DisallowUnknownFields()
	if err := e.Decode(&d); err != nil {
		return fmt.Errorf("it cannot be read as a document of texts: %w", err)
	}
	tag, err := language.Parse(d.Language)
	if err != nil {
		return fmt.Errorf("\"language\": %q is no tag of a language, such as \"de\" or \"pt-BR\"", d.Language)
	}
	names := make([]string, 0, len(d.Texts))
	for name := range d.Texts {
		names = append(names, name)
	}
	slices.Sort(names) // the same document is always refused for the same reason
	for _, name := range names {
		if err := fits(name, d.Texts[name]); err != nil {
			return err
		}
	}
	inUse.Store(&spoken{tag: tag, texts: d.Texts})
	return nil
}

// fits says whether a translated text can stand for the English one.
func fits(name string, f forms) error {
	own, there := english[name]
	if !there {
		return fmt.Errorf("%q: there is no text of that name in this version. Take it out", name)
	}
	if _, ok := f[other]; !ok {
		return fmt.Errorf("%q: the form \"other\" is needed", name)
	}
	if len(own) == 1 && len(f) > 1 {
		return fmt.Errorf("%q: it counts nothing, so it has one form. Write it as a text alone", name)
	}
	want, err := verbs(own[other])
	if err != nil {
		panic("words: " + name + ": " + err.Error())
	}
	for form, say := range f {
		if !slices.Contains([]string{"zero", "one", "two", "few", "many", other}, form) {
			return fmt.Errorf("%q: %q is no form of a plural. Those are zero, one, two, few, many and other", name, form)
		}
		got, err := verbs(say)
		if err != nil {
			return fmt.Errorf("%q: %w", name, err)
		}
		if !takes(say, got, want, len(own) > 1) {
			return fmt.Errorf("%q: %q does not take what the English text takes: %q", name, say, own[other])
		}
	}
	return nil
}

// takes says whether a text takes the arguments that are wanted. A form of a
// plural need not say all of them ("one pull"); where it says some, it names
// their places, as they are not in order then.
func takes(say string, got, want map[int]byte, plural bool) bool {
	for i, verb := range got {
		if want[i] != verb {
			return false
		}
	}
	return len(got) == len(want) || plural && (len(got) == 0 || strings.Contains(say, "%["))
}

// verbs are the arguments that a format takes: the letter by the place.
func verbs(format string) (map[int]byte, error) {
	out := map[int]byte{}
	next := 0
	for at := 0; at < len(format); at++ {
		if format[at] != '%' {
			continue
		}
		at++
		for at < len(format) && bytes.IndexByte([]byte("+-# 0123456789."), format[at]) >= 0 {
			at++
		}
		if at < len(format) && format[at] == '[' {
			end := strings.IndexByte(format[at:], ']')
			n, err := strconv.Atoi(format[at+1 : at+max(end, 1)])
			if err != nil || n < 1 {
				return nil, errors.New("a place such as %[2]s is not written as one")
			}
			next, at = n-1, at+end+1
		}
		switch {
		case at >= len(format):
			return nil, errors.New("it ends in a % that says nothing")
		case format[at] == '%':
			continue
		case bytes.IndexByte([]byte("sdfgvqwxtT"), format[at]) < 0:
			return nil, fmt.Errorf("%%%c is nothing that can be put in. A %% sign is written %%%%", format[at])
		}
		out[next] = format[at]
		next++
	}
	return out, nil
}
