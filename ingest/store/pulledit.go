package store

import (
	"encoding/json"
	"math"
	"slices"

	"tautlog/calc/gear"
	"tautlog/calc/words"
)

// What a person may edit in a pull: the bits of the column edited.
const (
	editedDay = 1 << iota
	editedRig
	editedKind
	editedGround
	editedNotes
	editedSpeed
	editedSlack
	editedDepth
	editedAttempt
	editedPullerMass
	editedStuckMass
	editedPhotos
	editedStuckWithin
	editedLimits
	editedAside
	editedAll = 1<<iota - 1
)

// keepEdits takes over from old what a person has edited there, but for the
// limits; see keepLimits.
func (p *Pull) keepEdits(old storedPull) {
	keep(old.edited, editedDay, &p.Day, old.Day)
	keep(old.edited, editedRig, &p.Rig, old.Rig)
	keep(old.edited, editedKind, &p.Kind, old.Kind)
	keep(old.edited, editedGround, &p.Ground, old.Ground)
	keep(old.edited, editedNotes, &p.Notes, old.Notes)
	keep(old.edited, editedSpeed, &p.Speed, old.Speed)
	keep(old.edited, editedSlack, &p.Slack, old.Slack)
	keep(old.edited, editedDepth, &p.Depth, old.Depth)
	keep(old.edited, editedAttempt, &p.Attempt, old.Attempt)
	keep(old.edited, editedPullerMass, &p.PullerMass, old.PullerMass)
	keep(old.edited, editedStuckMass, &p.StuckMass, old.StuckMass)
	keep(old.edited, editedStuckWithin, &p.StuckWithin, old.StuckWithin)
	keep(old.edited, editedPhotos, &p.Photos, old.Photos)
	keep(old.edited, editedAside, &p.Aside, old.Aside)
}

func keep[T any](edited, bit int, now *T, old T) {
	if edited&bit != 0 {
		*now = old
	}
}

// edits tells what differs from old.
func (p Pull) edits(old storedPull) (edited int, err error) {
	before, err := json.Marshal(old.Rig)
	if err != nil {
		return 0, err
	}
	after, err := json.Marshal(p.Rig)
	if err != nil {
		return 0, refuse(ErrInvalid, err)
	}
	for bit, differs := range map[int]bool{
		editedDay: p.Day != old.Day, editedRig: string(before) != string(after), editedKind: p.Kind != old.Kind,
		editedGround: p.Ground != old.Ground, editedNotes: p.Notes != old.Notes, editedSpeed: differ(p.Speed, old.Speed),
		editedSlack: differ(p.Slack, old.Slack), editedDepth: p.Depth != old.Depth, editedAttempt: p.Attempt != old.Attempt,
		editedPullerMass: differ(p.PullerMass, old.PullerMass), editedStuckMass: differ(p.StuckMass, old.StuckMass),
		editedStuckWithin: differ(p.StuckWithin, old.StuckWithin), editedPhotos: !slices.Equal(p.Photos, old.Photos),
		editedLimits: limitsDiffer(p.Limits, old.Limits), editedAside: differ(p.Aside, old.Aside),
	} {
		if differs {
			edited |= bit
		}
	}
	return edited, nil
}

func differ[T comparable](a, b *T) bool {
	return (a == nil) != (b == nil) || a != nil && *a != *b
}

// checkKnown refuses what a person cannot mean: a speed or slack below zero, a
// mass of nothing, a depth or an attempt that is none.
func (p Pull) checkKnown() error {
	switch {
	case p.Speed != nil && !within0(float64(*p.Speed)):
		return refuse(ErrInvalid, words.Error("store.pull.speed", *p.Speed))
	case p.Slack != nil && !within0(float64(*p.Slack)):
		return refuse(ErrInvalid, words.Error("store.pull.slack", *p.Slack))
	case p.PullerMass != nil && !(within0(float64(*p.PullerMass)) && *p.PullerMass > 0):
		return refuse(ErrInvalid, words.Error("store.pull.puller", *p.PullerMass))
	case p.StuckMass != nil && !(within0(float64(*p.StuckMass)) && *p.StuckMass > 0):
		return refuse(ErrInvalid, words.Error("store.pull.stuck", *p.StuckMass))
	case gear.CheckWithin(p.StuckMass, p.StuckWithin) != "":
		return refuse(ErrInvalid, words.Error("store.pull.within", gear.CheckWithin(p.StuckMass, p.StuckWithin)))
	case p.Attempt < 0:
		return refuse(ErrInvalid, words.Error("store.pull.attempt", p.Attempt))
	}
	switch p.Depth {
	case "", DepthWheel, DepthFender, DepthCab:
		return nil
	}
	return refuse(ErrInvalid, words.Error("store.pull.depth", p.Depth, DepthWheel, DepthFender, DepthCab))
}

// within0 tells whether x is a finite number from zero on.
func within0(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
