package web

import (
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// cellSaid is how a cell is doing, in a sentence.
type cellSaid struct{ Name, Sentence string }

// said tells how each cell is doing.
func (s *server) said(cells []store.Cell) []cellSaid {
	byID := map[int64]record.Status{}
	if s.Recorder != nil {
		for _, st := range s.Recorder.Statuses() {
			byID[st.Cell] = st
		}
	}
	out := make([]cellSaid, len(cells))
	for i, c := range cells {
		st, ok := byID[c.ID]
		out[i] = cellSaid{c.Name, text("cell.recorded", c.Name)}
		if ok {
			out[i].Sentence = s.statusSentence(c.Name, st)
		}
	}
	return out
}

func (s *server) statusSentence(name string, st record.Status) string {
	switch {
	case st.Problem != "":
		return st.Problem
	case st.LastReading.IsZero():
		return text("cell.upnone", name)
	}
	ago := s.Now().Sub(st.LastReading)
	if ago < 2*time.Second {
		return text("cell.upnow", name)
	}
	return text("cell.up", name, seconds(ago.Seconds()))
}

// unread says that no reading comes from a cell just now: what it read last
// tells nothing of the line any more.
func unread(a record.Status) bool { return !a.Up || a.Silent }

// awaySays is the state of a line whose cell is unread.
func awaySays(a record.Status) string {
	if a.LastReading.IsZero() {
		return text("line.silent")
	}
	return text("line.away")
}

// statusOf is how a cell is doing, where it is recorded.
func (s *server) statusOf(cell int64) (record.Status, bool) {
	if s.Recorder == nil {
		return record.Status{}, false
	}
	for _, a := range s.Recorder.Statuses() {
		if a.Cell == cell {
			return a, true
		}
	}
	return record.Status{}, false
}

// moment is what the live page says of one moment.
type moment struct {
	Force string `json:"force"`
	State string `json:"state"`
	Peak  string `json:"peak"`
	Taut  bool   `json:"taut"`
	Over  string `json:"over"` // that the limit was crossed in this pull
}

func (s *server) moment(st pull.State, c store.Cell, l *limitView, u unit.ForceUnit) moment {
	step := lastDigit(c)
	m := moment{Force: digits(st.Force, u, step), State: text("line.slack"), Taut: st.Taut}
	if st.Taut {
		largest := max(st.Peak, st.Force)
		m.State = text("line.taut")
		m.Peak = text("line.peak", largest.Show(u, step))
		if l.Drawn() && largest > l.Force {
			m.Over = l.Over
		}
	}
	return m
}
