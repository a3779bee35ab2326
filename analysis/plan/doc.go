// Package plan holds a pull that has not been made against the gear that is to
// carry it: what each item would carry, how hard the line may pull before the
// first of them reaches its limit, and how fast the puller may be for that.
//
// What a kinetic pull will come to it takes from all there is to go by, side by
// side: the model of calc/kinetic, and what a set of multipliers says, fitted
// from logged pulls or assumed. It says which of them it planned with.
//
// It fits nothing (package shock), judges nothing by itself (package rating),
// and permits nothing.
package plan
