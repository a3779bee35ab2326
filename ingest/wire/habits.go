package wire

import (
	"bytes"
	"math/bits"

	"tautlog/calc/words"
)

// plain gives a sample without the parity in its eighth bits, and which
// parity that is; the sample itself where the bits are part of the text.
func plain(sample []byte) ([]byte, Parity) {
	high, odd := 0, 0
	for _, b := range sample {
		high += int(b >> 7)
		odd += bits.OnesCount8(b) % 2
	}
	n := len(sample)
	if high*20 < n {
		return sample, ""
	}
	parity := AnyParity
	switch {
	case odd*50 <= n:
		parity = EvenParity
	case (n-odd)*50 <= n:
		parity = OddParity
	}
	text := make([]byte, n)
	strange := 0
	for i, b := range sample {
		if text[i] = b & 0x7f; strangeInText(text[i]) {
			strange++
		}
	}
	if strange*50 > n {
		return sample, "" // no text either way
	}
	return text, parity
}

func parityReason(p Parity) string {
	switch p {
	case EvenParity:
		return words.Say("wire.why.parity.even")
	case OddParity:
		return words.Say("wire.why.parity.odd")
	}
	return words.Say("wire.why.parity.none")
}

// notationOf looks for habits of writing numbers that must be configured to
// be understood: a minus behind the digits, grouped thousands, exponents.
func notationOf(text []byte) (c TextConfig, why []string) {
	if signsBehind(text) {
		c.SignBehind = true
		why = append(why, words.Say("wire.why.minus"))
	}
	if at := exponentIn(text); at > 0 {
		c.Exponent = true
		why = append(why, words.Say("wire.why.exponent"))
	}
	for _, g := range []struct {
		group, point byte
		says         string
	}{
		{',', '.', words.Say("wire.why.comma")},
		{'.', ',', words.Say("wire.why.point")},
		{'\'', 0, words.Say("wire.why.apostrophe")},
	} {
		if grouped(text, g.group, g.point) {
			c.Thousands, c.DecimalComma = string(rune(g.group)), g.point == ','
			why = append(why, g.says)
			break
		}
	}
	return c, why
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// signsBehind reports whether a minus ends a number somewhere and never
// begins one.
func signsBehind(text []byte) bool {
	behind := false
	for i, c := range text {
		if c != '-' {
			continue
		}
		if i+1 < len(text) && isDigit(text[i+1]) {
			return false
		}
		if i > 0 && isDigit(text[i-1]) && i+1 < len(text) && (isBlank(text[i+1]) || bytes.IndexByte([]byte(hardSeparators), text[i+1]) >= 0) {
			behind = true
		}
	}
	return behind
}

// exponentIn is where an exponent is, 0 where there is none.
func exponentIn(text []byte) int {
	for i := 1; i+2 < len(text); i++ {
		if (text[i] == 'e' || text[i] == 'E') && (isDigit(text[i-1]) || text[i-1] == '.' || text[i-1] == ',') &&
			(text[i+1] == '+' || text[i+1] == '-') && isDigit(text[i+2]) {
			return i
		}
	}
	return 0
}

// grouped reports whether a character parts groups of three digits: one that
// is followed by three digits and the decimal sign, or any three digits where
// the sign is not told.
func grouped(text []byte, group, point byte) bool {
	for i := 1; i+4 < len(text); i++ {
		if text[i] == group && isDigit(text[i-1]) && isDigit(text[i+1]) && isDigit(text[i+2]) && isDigit(text[i+3]) &&
			(text[i+4] == point || point == 0 && !isDigit(text[i+4])) {
			return true
		}
	}
	return false
}
