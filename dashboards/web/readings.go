package web

import (
	"errors"
	"io"
	"net/http"
	"time"

	"tautlog/analysis/trace"
	"tautlog/ingest/derive"
	"tautlog/ingest/logfile"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// patience is how long a browser may take to fetch or to send the next part of
// a long file.
const patience = 30 * time.Second

// dateAsked is the beginning of the date in an address.
func (s *server) dateAsked(r *http.Request) (time.Time, error) {
	date := r.PathValue("date")
	at, err := time.ParseInLocation(time.DateOnly, date, s.Zone)
	if err != nil {
		return at, refuse(http.StatusNotFound, text("refused.date", date))
	}
	return at, nil
}

// bounds are when the date that begins at a moment begins and ends, in ns UTC.
func bounds(at time.Time) (from, to int64) {
	return at.UnixNano(), at.AddDate(0, 0, 1).UnixNano()
}

// readingsWriter writes readings as a file of some form.
type readingsWriter interface {
	Write(b trace.Batch, raw []int64) error
	Flush() error
}

// dayReadings gives what a cell read on a date as a file, while it is read from
// the store: a day can hold more than fits in memory.
func (s *server) dayReadings(w http.ResponseWriter, r *http.Request) error {
	at, err := s.dateAsked(r)
	if err != nil {
		return err
	}
	from, to := bounds(at)
	c, err := s.Store.CellByName(r.Context(), r.URL.Query().Get("cell"))
	if err != nil {
		return err
	}
	n, _, err := s.Store.Count(r.Context(), c.ID, from, to)
	if err != nil {
		return err
	}
	if n == 0 {
		return refuse(http.StatusNotFound, text("refused.noreadings", r.PathValue("date")))
	}
	cell, err := derive.Of(r.Context(), s.Store, c)
	if err != nil {
		return err
	}
	file := r.PathValue("file")
	media := logfile.Parquet.Media()
	if file == "readings.csv" {
		media = logfile.CSV.Media()
	}
	s.nameFile(w, media, r.PathValue("date")+" "+c.Name+" "+file)
	if err := s.writeReadings(r, slowly{w, http.NewResponseController(w)}, file, cell, from, to); err != nil {
		s.Log.Warn("readings were not sent whole", "cell", c.Name, "err", err)
		panic(http.ErrAbortHandler) // the browser sees that the file is not whole
	}
	return nil
}

func (s *server) writeReadings(r *http.Request, w io.Writer, file string, cell derive.Cell, from, to int64) error {
	var out readingsWriter = tracefile.NewParquetWriter(w)
	if file == "readings.csv" {
		out = tracefile.NewWriter(w)
	}
	var b trace.Batch
	for run, err := range s.Store.Runs(r.Context(), cell.ID, from, to) {
		if damage, ok := errors.AsType[*store.DamageError](err); ok {
			s.Log.Warn("left out of a file, as a gap", "err", damage)
			continue
		}
		if err != nil {
			return err
		}
		b = cell.Batch(b, run)
		if err := out.Write(b, run.Raw); err != nil {
			return err
		}
	}
	return errors.Join(r.Context().Err(), out.Flush())
}

// slowly is an answer whose deadline moves on with every part that is taken.
type slowly struct {
	http.ResponseWriter
	control *http.ResponseController
}

func (s slowly) Write(p []byte) (int, error) {
	_ = s.control.SetWriteDeadline(time.Now().Add(patience)) // a recorder in a test has none
	return s.ResponseWriter.Write(p)
}
