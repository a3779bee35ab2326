package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"

	"tautlog/ingest/store"
)

// policy lets a page load its own script and style and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard refuses what did not come from one of our own pages under one of our
// own names, and sets the headers that hold for every answer.
func (s *server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !s.ours(r.Host) {
			s.answer(w, r, refuse(http.StatusMisdirectedRequest, text("refused.host")))
			return
		}
		if err := cross.Check(r); err != nil || embedded(r) {
			s.answer(w, r, refuse(http.StatusForbidden, text("refused.cross")))
			return
		}
		v, err := s.meet(r)
		if err != nil {
			s.answer(w, r, err)
			return
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), visitorKey{}, v)))
	})
}

// embedded says that a page of elsewhere asks by itself, and not a person who
// follows a link of it. It could not read the answer, but what costs work it
// could ask for as often as it likes, with nobody signed in at this machine.
// Browsers say so by Fetch Metadata (W3C), to this machine and over TLS.
func embedded(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	return (site == "cross-site" || site == "same-site") && r.Header.Get("Sec-Fetch-Dest") != "document"
}

// refusal is an answer that is not a page: a status and what to tell people.
type refusal struct {
	status int
	say    string
}

func (e refusal) Error() string { return e.say }

func refuse(status int, say string) error { return refusal{status, say} }

func notHere() error { return refuse(http.StatusNotFound, text("refused.nothere")) }

// answer tells err to whoever asked: as JSON on the interface, else as a page.
func (s *server) answer(w http.ResponseWriter, r *http.Request, err error) {
	said, known := errors.AsType[refusal](err)
	if err == nil || !known && r.Context().Err() != nil { // they have gone
		return
	}
	switch {
	case known:
	case errors.Is(err, store.ErrNotFound):
		said = refusal{http.StatusNotFound, text("refused.nothere")}
	case errors.Is(err, store.ErrConflict):
		said = refusal{http.StatusConflict, text("refused.conflict")}
	default:
		s.Log.Error("page failed", "path", r.URL.Path, "err", err)
		said = refusal{http.StatusInternalServerError, text("refused.failed")}
		if visitorOf(r.Context()).Operator() { // it may name directories of this machine
			said.say = text("refused.failed.why", err)
		}
	}
	if strings.HasPrefix(r.URL.Path, "/api/") || strings.HasPrefix(r.URL.Path, "/assets/") {
		writeJSON(w, said.status, map[string]string{"error": said.say})
		return
	}
	if said.status == http.StatusUnauthorized && r.Method == http.MethodGet {
		http.Redirect(w, r, "/sign-in?back="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		return
	}
	s.refusalPage(w, r, said)
}

func (s *server) refusalPage(w http.ResponseWriter, r *http.Request, said refusal) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(said.status)
	if err := s.write(w, r, "refusal", text("refused.title"), said.say); err != nil {
		_, _ = io.WriteString(w, said.say)
	}
}
