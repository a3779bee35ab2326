package web

import (
	"crypto/rand"
	"net/http"
	"strings"
	"sync"

	"tautlog/ingest/store"
)

// visited is another store that is shown in place of the one that is recorded
// into, to the browsers that asked for it: the sample days, or a store that was
// brought back. It has pages of its own, so that nothing that is done there
// comes into the store that is recorded into.
type visited struct {
	mu     sync.RWMutex // held for reading while one of its pages is made
	mark   string       // of this one, in the cookie; empty: it is not there
	server *server
	pages  http.Handler
	close  func() error
}

// visitedCookie holds the mark of the store that a browser looks at.
const visitedCookie = "looks-at"

// alwaysOwn are the beginnings of addresses that are never of another store:
// the coming and going of one, who is signed in, and what is kept where.
var alwaysOwn = []string{"/sample", "/choose", "/assets/", "/sign-", "/in/", "/people", "/sessions/", "/kept"}

// visits shows the pages of another store to the browsers that asked for it.
func (s *server) visits(own http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mark := visitedMark(r)
		for _, begin := range alwaysOwn {
			if strings.HasPrefix(r.URL.Path, begin) {
				mark = ""
			}
		}
		if mark == "" || !s.sample.answer(mark, w, r) && !s.brought.answer(mark, w, r) {
			own.ServeHTTP(w, r)
		}
	})
}

func visitedMark(r *http.Request) string {
	c, err := r.Cookie(visitedCookie)
	if err != nil {
		return ""
	}
	return c.Value
}

// answer answers a browser that looks at the store with that mark, and tells
// whether this is it.
func (b *visited) answer(mark string, w http.ResponseWriter, r *http.Request) bool {
	b.mu.RLock()
	defer b.mu.RUnlock()
	if b.mark == "" || b.mark != mark {
		return false
	}
	b.pages.ServeHTTP(w, r)
	return true
}

// serve makes pages over a store, for the same visitors as the own ones. The
// lock is held.
func (b *visited) serve(s *server, st *store.Store, demo bool, end func() error) *server {
	c := s.Config
	c.Store, c.Demo = st, demo
	c.Recorder, c.Watcher, c.Sample, c.Archive = nil, nil, nil, nil
	b.mark, b.close = rand.Text(), end
	b.server = &server{Config: c, assets: s.assets, pages: s.pages, boot: b.mark, key: s.key, forms: b.mark, door: s.door, guideText: s.guideText}
	b.server.keepUp()
	b.pages = b.server.router()
	return b.server
}

// end closes the store, for everybody who looks at it. The lock is held.
func (b *visited) end() error {
	if b.mark == "" {
		return nil
	}
	b.mark, b.server, b.pages = "", nil, nil
	return b.close()
}

// lookAt has this browser look at the store. The lock is held.
func (b *visited) lookAt(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: visitedCookie, Value: b.mark, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
}

// lookAway has this browser look at the own store again.
func lookAway(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: visitedCookie, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
}
