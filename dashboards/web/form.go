package web

import (
	"crypto/subtle"
	"errors"
	"mime"
	"net/http"
	"strconv"
	"time"

	"tautlog/ingest/store"
)

// maxBody is the largest form that is read; the longest are notes.
const maxBody = 64 << 10

// form reads the form that a route is sent, which must carry the token of our
// pages.
func (s *server) form(rt route, w http.ResponseWriter, r *http.Request) (*http.Request, error) {
	if err := readForm(rt, w, r); err != nil {
		return r, err
	}
	return r, s.checkToken(r)
}

// checkToken refuses a form that is not of our pages.
func (s *server) checkToken(r *http.Request) error {
	if subtle.ConstantTimeCompare([]byte(r.PostForm.Get("token")), []byte(s.tokenIn(r.Context()))) != 1 {
		return refuse(http.StatusForbidden, text("refused.token"))
	}
	return nil
}

// readForm reads a form whole.
func readForm(rt route, w http.ResponseWriter, r *http.Request) error {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	files := rt.many && kind == "multipart/form-data"
	if err != nil || !files && kind != "application/x-www-form-urlencoded" {
		return refuse(http.StatusUnsupportedMediaType, text("refused.media"))
	}
	if files {
		// A phone in the field is given more time for pictures than for words.
		_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(3 * time.Minute)) // a recorder in a test has none
		err = r.ParseMultipartForm(1 << 20)
	} else {
		err = r.ParseForm()
	}
	if _, big := errors.AsType[*http.MaxBytesError](err); big {
		return tooBig(rt)
	}
	if err != nil {
		return refuse(http.StatusBadRequest, text("refused.form"))
	}
	return nil
}

// tooBig says of a form that is too long how long it may be.
func tooBig(rt route) error {
	if rt.file {
		return refuse(http.StatusRequestEntityTooLarge, text("refused.bigfile", rt.most>>30))
	}
	if rt.most == maxUpload {
		return refuse(http.StatusRequestEntityTooLarge, text("refused.pictures", mostPictures, store.MaxAttachment>>20))
	}
	return refuse(http.StatusRequestEntityTooLarge, text("refused.big", rt.most>>10))
}

// number reads a number of an address or a form; what says whose it is.
func number(s, what string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0, refuse(http.StatusBadRequest, text("refused.number", s, what))
	}
	return n, nil
}
