package gear

import (
	"fmt"
	"slices"
	"strings"
)

// UnmarshalText reads a kind and refuses a word that is none.
func (k *Kind) UnmarshalText(b []byte) error { return word(k, b, "kind of gear", Kinds()) }

// UnmarshalText reads a basis and refuses a word that is none.
func (x *Basis) UnmarshalText(b []byte) error { return word(x, b, "basis of a rating", Bases()) }

// UnmarshalText reads "alone", "pair" or nothing.
func (x *Together) UnmarshalText(b []byte) error {
	return word(x, b, "condition", []Together{Alone, Pair, TogetherUnstated})
}

// UnmarshalText reads "maker", "owner" or nothing.
func (x *FactorFrom) UnmarshalText(b []byte) error {
	return word(x, b, "source of a design factor", []FactorFrom{FactorMaker, FactorOwner, FactorUnstated})
}

// word takes b as one of the allowed words.
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
	return fmt.Errorf("%q is not %s: write one of %s", v, withArticle(what), strings.Join(names, ", "))
}

// withArticle puts a or an before a word.
func withArticle(s string) string {
	if strings.ContainsRune("aeiou", rune(s[0])) {
		return "an " + s
	}
	return "a " + s
}
