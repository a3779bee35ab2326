// Package listen hears what comes on a serial line, asks an instrument that
// wants to be asked, and proposes how to read it, for a person who sets up a
// cell. It shows and proposes; a person decides, and the store keeps.
package listen
