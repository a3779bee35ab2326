package words

// Kind is an error that a package keeps in a variable, to be asked for with
// errors.Is: the name of a text, which is looked up when the error is told.
type Kind string

// Error is the text.
func (k Kind) Error() string { return Say(string(k)) }
