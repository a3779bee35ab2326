package web

import (
	"html/template"
	"net/http"

	"tautlog/dashboards/guide"
)

// guideRoutes are the user guide and its pictures.
func (s *server) guideRoutes() []route {
	return []route{
		reads("GET /guide", s.guide),
		reads("GET /guide/{picture}", s.guidePicture),
	}
}

func (s *server) guide(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, "guide", text("guide.title"), guideView{s.guideText})
}

// guideView is the page of the guide.
type guideView struct{ Text template.HTML }

// cautioned: the guide begins with the cautions.
func (guideView) cautioned() {}

func (s *server) guidePicture(w http.ResponseWriter, r *http.Request) error {
	b := guide.Picture(r.PathValue("picture"))
	if b == nil {
		return notHere()
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Cache-Control", "max-age=3600")
	_, err := w.Write(b)
	return err
}
