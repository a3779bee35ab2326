package gear

import (
	"slices"
	"strings"

	"tautlog/calc/words"
)

// UnmarshalText reads a kind and refuses a word that is none.
func (k *Kind) UnmarshalText(b []byte) error { return word(k, b, "kind", Kinds()) }

// UnmarshalText reads a basis and refuses a word that is none.
func (x *Basis) UnmarshalText(b []byte) error { return word(x, b, "basis", Bases()) }

// UnmarshalText reads "alone", "pair" or nothing.
func (x *Together) UnmarshalText(b []byte) error {
	return word(x, b, "together", []Together{Alone, Pair, TogetherUnstated})
}

// UnmarshalText reads "maker", "owner" or nothing.
func (x *FactorFrom) UnmarshalText(b []byte) error {
	return word(x, b, "from", []FactorFrom{FactorMaker, FactorOwner, FactorUnstated})
}

// word takes b as one of the allowed words. What is meant is the end of the name
// of a text.
func word[T ~string](into *T, b []byte, what string, allowed []T) error {
	v := T(b)
	if slices.Contains(allowed, v) {
		*into = v
		return nil
	}
	var names []string
	for _, a := range allowed {
		if a != "" {
			names = append(names, string(a))
		}
	}
	return words.Error("item.word", v, words.Say("item.word."+what), strings.Join(names, ", "))
}

// Words is the kind as people read it; files have it as it is.
func (k Kind) Words() string { return sayOr("item.kind."+string(k), string(k)) }

// Words is the basis as people read it; files have it as it is.
func (x Basis) Words() string { return sayOr("item.basis."+string(x), string(x)) }

// Words is the finding as people read it; files have it as it is.
func (x Finding) Words() string { return sayOr("item.finding."+string(x), string(x)) }

// Words is who stated a design factor, as people read it.
func (x FactorFrom) Words() string { return sayOr("item.from."+string(x), string(x)) }

// Words is the answer as people read it; files have what String gives.
func (a Answer) Words() string { return sayOr("item.answer."+a.String(), a.String()) }

// sayOr is a word that people read, or the word itself where it is none of those
// that the program knows.
func sayOr(name, word string) string {
	if !words.Known(name) {
		return word
	}
	return words.Say(name)
}
