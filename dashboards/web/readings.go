package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strconv"
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

// readingsForms are the files of readings, of a day and of a pull.
var readingsForms = map[string]logfile.Form{"readings.csv": logfile.CSV, "readings.parquet": logfile.Parquet}

// readingsWriter writes readings as a file of some form.
type readingsWriter interface {
	Write(b trace.Batch, raw []int64) error
	Flush() error
}

// dayReadings gives what a cell read on a date as a file.
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
	name := r.PathValue("date") + " " + c.Name
	return s.sendReadings(w, r, c, name, from, to, text("refused.noreadings", r.PathValue("date")))
}

// besidePull is how much of the line before and behind a pull goes with its
// readings: enough for whoever reads them to see where zero was.
const besidePull = 2 * time.Second

// pullReadings gives what the cell of a pull read during it as a file.
func (s *server) pullReadings(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	from, to := aroundPull(p)
	name := "pull " + strconv.FormatInt(p.ID, 10) + " " + c.Name
	return s.sendReadings(w, r, c, name, from, to, text("refused.pullreadings", p.ID))
}

// aroundPull is the stretch of the readings that go with a pull, its end not
// included.
func aroundPull(p store.Pull) (from, to int64) {
	return p.Found.Start - besidePull.Nanoseconds(), p.Found.End + besidePull.Nanoseconds() + 1
}

// hasReadings says whether the readings of a pull are kept here, and not only
// what was measured of it.
func (s *server) hasReadings(ctx context.Context, p store.Pull) (bool, error) {
	from, to := aroundPull(p)
	n, _, err := s.Store.Count(ctx, p.Cell, from, to)
	return n > 0, err
}

// sendReadings sends what a cell read from one time up to, not including,
// another as the kind of file that the address ends in, while it is read from
// the store: a day can hold more than fits in memory. Where there is nothing, it
// refuses with what none says.
func (s *server) sendReadings(w http.ResponseWriter, r *http.Request, c store.Cell, name string, from, to int64, none string) error {
	n, _, err := s.Store.Count(r.Context(), c.ID, from, to)
	if err != nil {
		return err
	}
	if n == 0 {
		return refuse(http.StatusNotFound, none)
	}
	cell, err := derive.Of(r.Context(), s.Store, c)
	if err != nil {
		return err
	}
	file := r.PathValue("file")
	s.nameFile(w, readingsForms[file].Media(), name+" "+file)
	if err := s.writeReadings(r, slowly{w, http.NewResponseController(w)}, file, cell, from, to); err != nil {
		s.Log.Warn("readings were not sent whole", "cell", c.Name, "err", err)
		panic(http.ErrAbortHandler) // the browser sees that the file is not whole
	}
	return nil
}

func (s *server) writeReadings(r *http.Request, w io.Writer, file string, cell derive.Cell, from, to int64) error {
	var out readingsWriter = tracefile.NewParquetWriter(w)
	if readingsForms[file] == logfile.CSV {
		out = tracefile.NewWriter(w)
	}
	var b trace.Batch
	damaged := func(d *store.DamageError) { s.Log.Warn("left out of a file, as a gap", "err", d) }
	for run, err := range s.Store.IntactRuns(r.Context(), cell.ID, from, to, damaged) {
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
