package words

import (
	"fmt"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

// Number is a whole number of something for a text that says it as %d: its
// digits are grouped as the language does, 783,730. Count does so by itself. What
// is no number of things (a pull's, a year) is given to a text as it is.
func Number(n int) fmt.Formatter { return grouped{inUse.Load().tag, n} }

// grouped is a number in a language.
type grouped struct {
	tag language.Tag
	n   int
}

// Format writes the number, whatever the verb.
func (g grouped) Format(f fmt.State, _ rune) { message.NewPrinter(g.tag).Fprintf(f, "%d", g.n) } //nolint:errcheck // the state of a format takes all
