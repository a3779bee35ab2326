package chain

// Span is the width that a drawing reckons with for a text, for its tests.
var Span = span
