package archive

import (
	"context"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// Status says how far the archives of a store are.
type Status struct {
	Station  string  `json:"station"` // what this store is called; empty before the first push
	Archives []State `json:"archives"`
}

// State is how far one archive is.
type State struct {
	Archive     string     `json:"archive"`
	Told        bool       `json:"told"`             // by the settings in force
	Readings    int        `json:"readings_to_push"` // refused ones too
	Refused     int        `json:"refused_readings"`
	Pulls       int        `json:"pulls_to_push"`
	Behind      *time.Time `json:"behind_since"` // time of the earliest reading to push
	LastSuccess *time.Time `json:"last_success"`
	LastFailure *time.Time `json:"last_error_at"`
	LastError   string     `json:"last_error"`
	Failing     bool       `json:"failing"` // nothing was pushed since the last error
}

// StatusOf asks a store, not the server, how far every archive is that it was
// pushed to, and first of all the one at the address told, also where nothing
// was pushed there yet; empty: none is told.
func StatusOf(ctx context.Context, db *store.Store, told string) (s Status, err error) {
	s.Archives = []State{}
	if s.Station, err = db.Station(ctx, ""); err != nil {
		return s, err
	}
	all, err := db.ArchiveStates(ctx)
	if err != nil {
		return s, err
	}
	known := told == ""
	for _, a := range all {
		r := StateOf(a)
		r.Told = a.Archive == told
		known = known || r.Told
		s.Archives = append(s.Archives, r)
	}
	if known {
		return s, nil
	}
	never, err := db.ArchiveState(ctx, told)
	r := StateOf(never)
	r.Told = true
	s.Archives = append([]State{r}, s.Archives...)
	return s, err
}

// StateOf is what the store knows of an archive, as it leaves the program.
func StateOf(a store.ArchiveState) State {
	at := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		return &t
	}
	return State{Archive: a.Archive, Readings: a.Readings, Refused: a.Refused, Pulls: a.Pulls, Behind: at(a.Behind),
		LastSuccess: at(a.Pushed), LastFailure: at(a.Failed), LastError: a.Failure, Failing: a.Failing()}
}

// Complete says that the archive has everything.
func (s State) Complete() bool { return s.Readings == 0 && s.Pulls == 0 }

// Waits says how much the archive has not yet: "1 reading and no pulls".
func (s State) Waits() string {
	readings, pulls := words.Say("archive.readings.none"), words.Say("archive.pulls.none")
	if s.Readings != 0 {
		readings = words.Count("archive.readings", s.Readings)
	}
	if s.Pulls != 0 {
		pulls = words.Count("archive.pulls", s.Pulls)
	}
	return words.Say("archive.waiting", readings, pulls)
}
