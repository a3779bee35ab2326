package web

import (
	"context"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"time"
)

// fileKey is under what the context of a request has its file.
type fileKey struct{}

// fileOf is the file of a form, as it comes.
func fileOf(r *http.Request) *fileIn { return r.Context().Value(fileKey{}).(*fileIn) }

// fileIn is a file that a browser is sending.
type fileIn struct {
	Name string
	part *multipart.Part
	rc   *http.ResponseController
}

// Read reads on, for as long as something comes.
func (f *fileIn) Read(p []byte) (int, error) {
	_ = f.rc.SetReadDeadline(time.Now().Add(patience)) // a recorder in a test has none
	return f.part.Read(p)
}

// fileForm reads a form up to its file, which is its last field: nothing of
// that is read before the token is known to be ours.
func (s *server) fileForm(rt route, w http.ResponseWriter, r *http.Request) (*http.Request, error) {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "multipart/form-data" {
		if r, err := s.form(rt, w, r); err != nil {
			return r, err
		}
		return r, refuse(http.StatusUnsupportedMediaType, text("refused.media"))
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return r, refuse(http.StatusBadRequest, text("refused.form"))
	}
	r.PostForm = url.Values{}
	left := int64(maxBody)
	for {
		part, err := parts.NextPart()
		if err != nil {
			return r, badPart(rt, err)
		}
		if part.FormName() == "file" {
			if err := s.checkToken(r); err != nil {
				return r, err
			}
			f := &fileIn{Name: part.FileName(), part: part, rc: http.NewResponseController(w)}
			return r.WithContext(context.WithValue(r.Context(), fileKey{}, f)), nil
		}
		value, err := io.ReadAll(io.LimitReader(part, left+1))
		if err != nil {
			return r, badPart(rt, err)
		}
		if left -= int64(len(value)); left < 0 {
			return r, tooBig(rt)
		}
		r.PostForm.Add(part.FormName(), string(value))
	}
}

// badPart says what is wrong with a form that could not be read.
func badPart(rt route, err error) error {
	if _, big := errors.AsType[*http.MaxBytesError](err); big {
		return tooBig(rt)
	}
	return refuse(http.StatusBadRequest, text("refused.form"))
}
