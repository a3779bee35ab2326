package web

import (
	"bytes"
	"net/http"

	"tautlog/dashboards/logbook"
	"tautlog/dashboards/plot"
)

// figureFile is a chart of a set as a file, for a report of somebody's own.
func (s *server) figureFile(w http.ResponseWriter, r *http.Request) error {
	kind, as := r.PathValue("kind"), r.URL.Query().Get("as")
	if kind != "speed" && kind != "residuals" && kind != "classes" || as != "svg" && as != "png" {
		return notHere()
	}
	t, _, err := s.chartTold(r)
	if err != nil {
		return err
	}
	drawn, err := drawnFigure(kind, t, r)
	if err != nil {
		return nothingToDraw(err)
	}
	write, media := drawn.SVG, "image/svg+xml"
	if as == "png" {
		write, media = drawn.PNG, "image/png"
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return s.sendFile(w, &b, media, t.Kept.Label()+"-"+kind+"."+as)
}

// drawnFigure draws a chart.
func drawnFigure(kind string, t logbook.Told, r *http.Request) (plot.Figure, error) {
	switch kind {
	case "speed":
		d, err := t.SpeedChart(r.URL.Query().Get("strap"))
		if err != nil {
			return plot.Figure{}, err
		}
		return plot.Speed(d.Chart), nil
	case "residuals":
		d, err := t.ResidualChart()
		if err != nil {
			return plot.Figure{}, err
		}
		return plot.Residuals(d.Chart), nil
	}
	d, err := t.ClassChart()
	if err != nil {
		return plot.Figure{}, err
	}
	return plot.Classes(d.Chart), nil
}
