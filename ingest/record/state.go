package record

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// state is what is known of how a cell is doing.
type state struct {
	up     bool
	since  time.Time
	down   error // why the line is away
	failed error // why the line is followed no more
	silent bool

	lastAt   time.Time // arrival of the latest reading
	lastTime time.Time // its time
	decode   wire.Stats
	refused  uint64 // lines and frames refused up to the latest reading

	held    int   // readings that are in memory only, since the disk refuses them
	refusal error // why
	room    time.Duration
	lost    loss
	told    string // the problem as last announced
}

// loss is what had to be given up.
type loss struct {
	n        int
	from, to int64 // times of the first and the last of them, ns UTC
	reason   error
}

// silence is how long a cell may be quiet before people are told.
const silence = 3 * time.Second

// patience is how long the cell may go without a reading.
func (l *line) patience() time.Duration {
	if l.cell.Rate > 0 {
		return max(silence, time.Duration(3e9/l.cell.Rate))
	}
	return silence
}

// read notes a reading.
func (s *state) read(at time.Time) {
	s.lastAt = at
	s.refused = s.decode.Rejected
	if s.silent {
		s.silent, s.since = false, at
	}
}

// watch notes silence.
func (s *state) watch(now time.Time, patience time.Duration) {
	if s.up && !s.silent && now.Sub(s.heard()) >= patience {
		s.silent, s.since = true, s.heard()
	}
}

// heard is when the latest reading arrived, or the line was opened since.
func (s *state) heard() time.Time {
	if s.lastAt.After(s.since) {
		return s.lastAt
	}
	return s.since
}

// problem says in sentences what is wrong.
func (l *line) problem(now time.Time) string {
	s := &l.state
	var says []string
	switch {
	case s.failed != nil:
		says = append(says, words.Say("record.stopped", l.cell.Name, s.failed))
	case s.down != nil:
		says = append(says, words.Say("record.down", l.cell.Name, s.down))
	case s.silent && l.dec != nil && l.dec.Complaint() != "":
		says = append(says, words.Say("record.complains", l.cell.Name, span(now.Sub(s.since)), l.dec.Complaint()))
	case s.silent && s.decode.Rejected > s.refused:
		says = append(says, words.Count("record.unread", int(s.decode.Rejected-s.refused),
			l.cell.Name, span(now.Sub(s.since)), brief(l.dec.LastRejected())))
	case s.silent && l.asker.polls():
		says = append(says, words.Say("record.noanswer", l.cell.Name, span(now.Sub(s.since))))
	case s.silent:
		says = append(says, words.Say("record.silent", l.cell.Name, span(now.Sub(s.since))))
	}
	if s.refusal != nil {
		mend := words.Say("record.disk.mend")
		switch {
		case errors.Is(s.refusal, store.ErrFull):
			mend = words.Say("record.disk.full")
		case errors.Is(s.refusal, store.ErrTurned):
			mend = words.Say("record.disk.turned")
		}
		says = append(says, words.Count("record.disk", s.held, s.refusal, l.cell.Name, span(s.room), mend))
	}
	if s.lost.n > 0 {
		says = append(says, words.Count("record.lost", s.lost.n, l.cell.Name, clockTime(s.lost.from), clockTime(s.lost.to), s.lost.reason))
	}
	if p := l.base.problem(); p != "" {
		says = append(says, p)
	}
	return strings.Join(says, " ")
}

// brief is as much of a refused line as fits into a sentence.
func brief(b []byte) []byte { return b[:min(len(b), 40)] }

func clockTime(ns int64) string { return time.Unix(0, ns).UTC().Format("15:04:05.000") }

// span says a time in the words of people: 3 s, 5 min, 2 h.
func span(d time.Duration) string {
	switch s := d.Seconds(); {
	case s < 120:
		return fmt.Sprintf("%.0f s", math.Floor(max(s, 0)))
	case s < 7200:
		return fmt.Sprintf("%.0f min", math.Floor(s/60))
	default:
		return fmt.Sprintf("%.0f h", math.Floor(s/3600))
	}
}
