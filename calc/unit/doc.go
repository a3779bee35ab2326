// Package unit holds the physical quantities that cross package borders, the
// parsing of what people type ("3.2t", "8km/h", "12kN") and the printing of
// what they read.
//
// Inside the program every quantity is in SI: newtons, kilograms, metres,
// metres per second, radians. Conversion happens here and nowhere else. A
// number without a unit is refused: on a recovery site "5" has been tonnes,
// kilonewtons and metres within one sentence.
package unit
