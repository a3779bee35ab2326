package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Differences says what a change made of a document of the register, key by
// key: what it was and what it is now, in the words of its page where there are
// any. Forces are told in u.
func Differences(what string, before, after json.RawMessage, u unit.ForceUnit) []string {
	var was, is map[string]json.RawMessage
	if json.Unmarshal(before, &was) != nil || json.Unmarshal(after, &is) != nil {
		return []string{text("journal.changed", text("key.it"))}
	}
	inWords := map[string][]string{}
	if what == "item" {
		inWords = itemDifferences(before, after, u)
	}
	keys := maps.Clone(was)
	maps.Copy(keys, is)
	var out []string
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		switch {
		case bytes.Equal(was[k], is[k]):
		case len(inWords[k]) > 0:
			out = append(out, inWords[k]...)
		default:
			out = append(out, keyChanged(k, was[k], is[k]))
		}
	}
	return out
}

// itemDifferences says of the parts of an item, by their keys, what became of
// them; a part of which nothing is said is not among them, or differs in
// something that its words leave out.
func itemDifferences(before, after json.RawMessage, u unit.ForceUnit) map[string][]string {
	var was, is gear.Item
	if json.Unmarshal(before, &was) != nil || json.Unmarshal(after, &is) != nil {
		return nil
	}
	out := map[string][]string{
		"mounting": append(fieldDifferences(was.Fixing, is.Fixing), proofDifferences(was.Fixing, is.Fixing, u)...),
	}
	if was.Kind != is.Kind {
		out["kind"] = []string{text("journal.from", text("key.kind"), was.Kind.Words(), is.Kind.Words())}
	}
	if a, b := ratedAndStamped(was, u), ratedAndStamped(is, u); a != b {
		out["ratings"] = []string{text("journal.from", text("key.ratings"), a, b)}
	}
	if a, b := was.RetireRule.Text(), is.RetireRule.Text(); a != b {
		out["retire_rule"] = []string{text("journal.from", text("key.retire_rule"), a, b)}
	}
	if n := len(was.Inspections); len(is.Inspections) == n+1 {
		i := is.Inspections[n]
		out["inspections"] = []string{text("journal.inspected", i.Date.Words(), findingWords(i.Result))}
	}
	for key, w := range map[string]*gear.Withdrawal{"quarantined": is.Quarantined, "retired": is.Retired} {
		say := text("journal.back." + key)
		if w != nil {
			say = text("journal.out."+key, strings.TrimSuffix(w.Reason, "."))
		}
		out[key] = []string{say}
	}
	return out
}

// ratedAndStamped is what an item is rated for, in one line.
func ratedAndStamped(it gear.Item, u unit.ForceUnit) string {
	said := rated(it, u)
	for i, r := range it.Ratings {
		if r.Stamp != "" {
			said[i] += text("journal.stamped", r.Stamp)
		}
	}
	return strings.Join(said, text("journal.and"))
}

// fieldDifferences compares how two points are held, field by field of the form.
func fieldDifferences(was, is *gear.Fixing) (out []string) {
	before, after := itemTyped(gear.Item{Fixing: was}), itemTyped(gear.Item{Fixing: is})
	f := newSheet(nil)
	f.fill(before)
	if is != nil && (was == nil || len(is.Bolts) > len(was.Bolts)) {
		f.fill(after)
	}
	fields := fixingFields(f).Fields
	for i := 1; i <= f.rows("bolts", 1); i++ {
		bolts := boltFields(f, i)
		for _, e := range bolts.Fields {
			e.Label = text("journal.field", bolts.Title, e.Label)
			fields = append(fields, e)
		}
	}
	for _, e := range fields {
		if a, b := before[e.Name], after[e.Name]; a != b {
			out = append(out, text("journal.from", e.Label, orUnknownWord(a), orUnknownWord(b)))
		}
	}
	return out
}

func orUnknownWord(s string) string {
	if s == "" {
		return text("undo.unknown")
	}
	return s
}

// proofDifferences says which proof pulls were added.
func proofDifferences(was, is *gear.Fixing, u unit.ForceUnit) (out []string) {
	n := 0
	if was != nil {
		n = len(was.Proofs)
	}
	if is != nil && len(is.Proofs) > n {
		for _, p := range is.Proofs[n:] {
			out = append(out, text("journal.proof", about(p.Level, u)))
		}
	}
	return out
}

// keyWords is what a key of a document is called. One that has no words, as of a
// newer program, is called as it is.
func keyWords(key string) string {
	if name := "key." + key; words.Known(name) {
		return text(name)
	}
	return strings.ReplaceAll(key, "_", " ")
}

// findingWords is what an inspection found, in words.
func findingWords(x gear.Finding) string { return text("page.gear.acts." + string(x)) }

// keyChanged says what became of one key: in full where that is short.
func keyChanged(key string, before, after json.RawMessage) string {
	name := keyWords(key)
	was, shortWas := plainly(before)
	is, shortIs := plainly(after)
	if shortWas && shortIs {
		return text("journal.from", name, was, is)
	}
	switch {
	case before == nil:
		return text("journal.added", name)
	case after == nil:
		return text("journal.taken", name)
	}
	return text("journal.changed", name)
}

// plainly is a value as people write it, where it is short enough to be shown.
func plainly(v json.RawMessage) (string, bool) {
	if v == nil {
		return text("undo.unknown"), true
	}
	if rows, ok := plainRows(v); ok {
		return rows, len(rows) < 150
	}
	var s string
	if json.Unmarshal(v, &s) != nil {
		s = string(v)
	}
	return s, len(s) < 60 && !strings.ContainsAny(string(v), "{[")
}

// plainRows is a list of plain records by their values in order. It is false for
// anything else.
func plainRows(v json.RawMessage) (string, bool) {
	var records []json.RawMessage
	if json.Unmarshal(v, &records) != nil || len(records) == 0 {
		return "", false
	}
	var rows []string
	for _, r := range records {
		d := json.NewDecoder(bytes.NewReader(r))
		d.UseNumber()
		if t, err := d.Token(); err != nil || t != json.Delim('{') {
			return "", false
		}
		var values []string
		for d.More() {
			_, keyErr := d.Token()
			value, err := d.Token()
			if _, nested := value.(json.Delim); keyErr != nil || err != nil || nested {
				return "", false
			}
			values = append(values, fmt.Sprint(value))
		}
		rows = append(rows, strings.Join(values, " / "))
	}
	return strings.Join(rows, text("journal.and")), true
}
