package web

import (
	"bytes"
	"net/http"
	"strings"

	"tautlog/analysis/shock"
	"tautlog/dashboards/logbook"
	"tautlog/ingest/logfile"
)

// told is what the set that an address names says: the one in use where it
// names none.
func (s *server) told(r *http.Request) (logbook.Told, error) {
	inUse, err := s.book.InUse(r.Context())
	if err != nil {
		return logbook.Told{}, err
	}
	ref := r.URL.Query().Get("set")
	if ref == "" {
		return s.book.OfSet(r.Context(), inUse.Ref())
	}
	shown, err := s.shown(r.Context(), ref, inUse)
	return shown.Told, err
}

// setAsked is the set that an address names, with its pulls. Programs are given
// nothing that is not up to date.
func (s *server) setAsked(r *http.Request) (shock.Kept, error) {
	t, err := s.told(r)
	if err == nil && t.Behind {
		err = notYet(t)
	}
	return t.Kept, err
}

// notYet refuses what is being worked out.
func notYet(t logbook.Told) error {
	return refuse(http.StatusServiceUnavailable, count("refused.notyet", max(t.Pulls, t.Logged)))
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
	t, err := s.told(r)
	if err != nil {
		return err
	}
	if t.Behind && t.Kept.Version == 0 { // of a kept set the numbers are there at once
		return notYet(t)
	}
	var b bytes.Buffer
	if err := t.Kept.WriteClasses(&b); err != nil {
		return err
	}
	return s.sendTable(w, &b, t.Kept.Label())
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
	return s.sendTable(w, &b, text("set.file.pulls", k.Label()))
}

// sendTable sends CSV under a file name made of a label.
func (s *server) sendTable(w http.ResponseWriter, b *bytes.Buffer, label string) error {
	return s.sendFile(w, b, logfile.CSV.Media(), label+".csv")
}

// sendFile sends what a browser is to keep as a file.
func (s *server) sendFile(w http.ResponseWriter, b *bytes.Buffer, media, name string) error {
	s.nameFile(w, media, name)
	_, err := b.WriteTo(w)
	return err
}

// nameFile makes an answer one that a browser keeps as a file, under a name that
// every system takes. That of invented data says so: the file outlives the
// page that does.
func (s *server) nameFile(w http.ResponseWriter, media, name string) {
	if s.Demo {
		name = text("sample.mark") + " " + name
	}
	name = strings.Map(func(r rune) rune {
		if r == '-' || r == '.' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '-'
	}, name)
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
}
