package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"strconv"

	"tautlog/dashboards/gather"
	"tautlog/dashboards/report"
	"tautlog/ingest/logfile"
	"tautlog/ingest/store"
)

// dayFile gives a day as a file: its report, or its pulls for other programs.
func (s *server) dayFile(w http.ResponseWriter, r *http.Request) error {
	date, file := r.PathValue("date"), r.PathValue("file")
	if form, ok := logForms[file]; ok {
		var b bytes.Buffer
		err := logfile.Write(&b, form, func(use func(logfile.Row) error) error {
			return logfile.RowsOn(r.Context(), s.Store, date, s.Zone, use)
		})
		if errors.Is(err, store.ErrInvalid) {
			return refuse(http.StatusNotFound, text("refused.date", date))
		}
		if err != nil {
			return err
		}
		return s.sendFile(w, &b, form.Media(), date+" "+file)
	}
	if _, ok := readingsForms[file]; ok {
		return s.dayReadings(w, r)
	}
	return s.report(w, r, gather.Ask{Day: date}, date)
}

// logForms are the files of the pulls of a day.
var logForms = map[string]logfile.Form{"pulls.csv": logfile.CSV, "pulls.json": logfile.JSON, "pulls.parquet": logfile.Parquet}

// pullFile gives a pull as a file: its report, or its readings for other
// programs.
func (s *server) pullFile(w http.ResponseWriter, r *http.Request) error {
	if _, ok := readingsForms[r.PathValue("file")]; ok {
		return s.pullReadings(w, r)
	}
	id, err := number(r.PathValue("id"), text("page.pulls.a-pull"))
	if err != nil {
		return err
	}
	return s.report(w, r, gather.Ask{Pull: id}, "pull "+strconv.FormatInt(id, 10))
}

// report sends a report as the kind of file that the address ends in. It is to
// be kept or printed, so it is a file, and no page of these.
func (s *server) report(w http.ResponseWriter, r *http.Request, a gather.Ask, name string) error {
	var write func(report.Document, io.Writer) error
	media := ""
	switch r.PathValue("file") {
	case "report.html":
		write, media = report.Document.WriteHTML, "text/html; charset=utf-8"
	case "report.pdf":
		write, media = report.Document.WritePDF, "application/pdf"
	default:
		return notHere()
	}
	a.Unit, a.Made, a.Zone, a.By, a.Version = chosen(r).Unit, s.Now(), s.Zone, "", s.Version
	a.MadeUp = s.Demo
	b, err := s.written(r.Context(), a, write)
	if errors.Is(err, gather.ErrNothing) {
		return refuse(http.StatusNotFound, text("refused.report", err))
	}
	if errors.Is(err, store.ErrInvalid) {
		return refuse(http.StatusNotFound, text("refused.date", a.Day))
	}
	if err != nil {
		return err
	}
	return s.sendFile(w, b, media, name+" "+r.PathValue("file"))
}

func (s *server) written(ctx context.Context, a gather.Ask, write func(report.Document, io.Writer) error) (*bytes.Buffer, error) {
	source, err := gather.Report(ctx, s.Store, gather.FromBook(s.book), a)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer // so that a failure sends nothing half made
	return &b, write(report.Build(source), &b)
}
