// Package rehearse is a simulated load cell. It makes up pulls whose physics
// is known, turns their force into the readings that a cell with noise, drift
// and a limited converter would give, encodes them as an amplifier would, and
// writes the bytes to a pseudo-terminal at the pace of the real thing. Whoever
// opens that terminal reads a serial device.
//
// A cell whose Wire asks says nothing by itself: it answers request strings with
// lines of text, or it is a Modbus RTU instrument, which holds the reading in its
// registers and nothing else. One that has to be started is silent until it hears
// the string that starts it, and again after it has lost its power. It looks at
// its line every two milliseconds and answers with its latest reading.
//
// It is for demonstrations, for training and for tests of what lies behind
// the serial line. It is not a model of any instrument or place: the world
// that it comes with (see World) is invented, and nothing that comes from here
// may be taken as evidence about gear or ground.
//
// The layers can be used alone: a Shape gives a Track, the true force of one
// pull; a Generator gives the readings of a Script of pulls; an Encoder gives
// their bytes; Start plays them. The same seed gives the same pulls and
// readings.
package rehearse
