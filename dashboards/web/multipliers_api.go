package web

import (
	"bytes"
	"net/http"
	"strings"

	"tautlog/analysis/shock"
	"tautlog/ingest/logfile"
)

// setAsked is the set that an address of the interface names: the one in use
// where it names none.
func (s *server) setAsked(r *http.Request) (shock.Kept, error) {
	inUse, err := s.Store.PlanningWith(r.Context())
	if err != nil {
		return shock.Kept{}, err
	}
	ref := r.URL.Query().Get("set")
	if ref == "" {
		return inUse, nil
	}
	sets, err := s.Store.Sets(r.Context())
	if err != nil {
		return shock.Kept{}, err
	}
	var log []shock.Pull
	if ref == theLog {
		if log, err = s.logged(r.Context()); err != nil {
			return shock.Kept{}, err
		}
	}
	k, err := shown(ref, inUse, sets, log)
	return k.Kept, err
}

// apiSet is a set with all that is behind it.
func (s *server) apiSet(w http.ResponseWriter, r *http.Request) error {
	k, err := s.setAsked(r)
	if err != nil {
		return err
	}
	writeJSON(w, http.StatusOK, k)
	return nil
}

// apiClasses is what a set plans with, as a table.
func (s *server) apiClasses(w http.ResponseWriter, r *http.Request) error {
	k, err := s.setAsked(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := k.WriteClasses(&b); err != nil {
		return err
	}
	return sendTable(w, &b, k.Label())
}

// apiSetPulls is the pulls behind a set, as a table.
func (s *server) apiSetPulls(w http.ResponseWriter, r *http.Request) error {
	k, err := s.setAsked(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := shock.WritePulls(&b, k.Pulls); err != nil {
		return err
	}
	return sendTable(w, &b, k.Label()+", pulls")
}

// sendTable sends CSV under a file name made of a label.
func sendTable(w http.ResponseWriter, b *bytes.Buffer, label string) error {
	return sendFile(w, b, logfile.CSV.Media(), label+".csv")
}

// sendFile sends what a browser is to keep as a file, under a name that every
// system takes.
func sendFile(w http.ResponseWriter, b *bytes.Buffer, media, name string) error {
	name = strings.Map(func(r rune) rune {
		if r == '-' || r == '.' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '-'
	}, name)
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, err := b.WriteTo(w)
	return err
}
