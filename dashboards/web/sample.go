package web

import (
	"crypto/rand"
	"net/http"
	"strings"
	"sync"

	"tautlog/ingest/listen"
	"tautlog/ingest/store"
)

// sample is the invented test day while it is there. It has pages of its own
// over a store of its own, for the browsers that asked for it: nothing of it
// comes into the store that is recorded into.
type sample struct {
	mu     sync.RWMutex // held for reading while one of its pages is made
	name   string       // of this one, in the cookie; empty: it is not there
	server *server
	pages  http.Handler
}

// sampleCookie marks a browser that looks at the sample day.
const sampleCookie = "sample"

// noSample are the beginnings of addresses that are never of the sample day:
// its own coming and going, who is signed in, and what is kept where.
var noSample = []string{"/sample", "/choose", "/assets/", "/sign-", "/in/", "/people", "/kept"}

// sampled shows the pages of the sample day to the browsers that asked for it.
func (s *server) sampled(real http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c, err := r.Cookie(sampleCookie)
		if err != nil {
			real.ServeHTTP(w, r)
			return
		}
		for _, begin := range noSample {
			if strings.HasPrefix(r.URL.Path, begin) {
				real.ServeHTTP(w, r)
				return
			}
		}
		s.sample.mu.RLock()
		defer s.sample.mu.RUnlock()
		if s.sample.name == "" || s.sample.name != c.Value {
			real.ServeHTTP(w, r)
			return
		}
		s.sample.pages.ServeHTTP(w, r)
	})
}

func (s *server) sampleRoutes() []route {
	return []route{
		writes("POST /sample", s.openSample),
		writes("POST /sample/away", s.putSampleAway),
	}
}

// openSample makes the sample day, if it is not there, and shows it to this
// browser.
func (s *server) openSample(w http.ResponseWriter, r *http.Request) error {
	if s.Sample == nil {
		return notHere()
	}
	s.sample.mu.Lock()
	defer s.sample.mu.Unlock()
	if s.sample.name == "" {
		st, err := s.Sample.Open(r.Context())
		if err != nil {
			return err
		}
		s.sample.serve(s, st)
	}
	http.SetCookie(w, &http.Cookie{Name: sampleCookie, Value: s.sample.name, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	days, err := s.sample.server.Store.Days(r.Context())
	if err != nil || len(days) == 0 {
		http.Redirect(w, r, "/days", http.StatusSeeOther)
		return err
	}
	http.Redirect(w, r, "/days/"+days[0].Date, http.StatusSeeOther)
	return nil
}

// serve makes pages over the store of the sample day, for the same visitors as
// the real ones.
func (m *sample) serve(s *server, st *store.Store) {
	c := s.Config
	c.Store, c.Recorder, c.Watcher, c.Sample, c.Demo = st, nil, nil, nil, true
	m.name = rand.Text()
	m.server = &server{Config: c, assets: s.assets, pages: s.pages, boot: m.name, key: s.key, door: s.door, guideText: s.guideText, ofSample: true}
	m.server.keepUp()
	m.pages = m.server.router()
}

// putSampleAway throws the sample day away, for everybody.
func (s *server) putSampleAway(w http.ResponseWriter, r *http.Request) error {
	s.sample.mu.Lock()
	defer s.sample.mu.Unlock()
	http.SetCookie(w, &http.Cookie{Name: sampleCookie, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	if s.sample.name != "" {
		s.sample.name, s.sample.server, s.sample.pages = "", nil, nil
		if err := s.Sample.Close(); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// firstView is the first page: one question, and where nothing is there yet,
// what to begin with.
type firstView struct {
	NoCell bool   // no cell is set up
	Port   string // where one may be, in words; empty: no port is free
	Path   string // of that port
	NoRig  bool   // a cell is set up, and no rig put together
	Sample sampleOffer
}

// sampleOffer offers the sample days.
type sampleOffer struct {
	Offered bool // they can be shown, and to this visitor
	Nothing bool // nothing was pulled yet: this is what to begin with
	Token   string
}

func (s *server) offerSample(r *http.Request) (sampleOffer, error) {
	o := sampleOffer{Offered: s.Sample != nil && visitorOf(r.Context()).Operator(), Token: s.tokenIn(r.Context())}
	latest, err := s.Store.Pulls(r.Context(), store.PullFilter{Limit: 1})
	o.Nothing = len(latest) == 0
	return o, err
}

// first asks the one question.
func (s *server) first(w http.ResponseWriter, r *http.Request) error {
	var v firstView
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	if v.Sample, err = s.offerSample(r); err != nil {
		return err
	}
	if v.NoCell = len(cells) == 0 && visitorOf(r.Context()).Operator(); v.NoCell {
		v.Path, v.Port = likelyPort()
	}
	if len(cells) > 0 && visitorOf(r.Context()).Operator() {
		rigs, err := s.Store.RigNames(r.Context())
		if err != nil {
			return err
		}
		v.NoRig = len(rigs) == 0
	}
	return s.show(w, r, "first", text("first.title"), v)
}

// likelyPort is the port at which a cell may be: the first that can be opened,
// USB devices before others. Listening shows whether it is one.
func likelyPort() (path, says string) {
	ports, err := listen.Ports()
	if err != nil {
		return "", ""
	}
	for _, p := range ports {
		switch {
		case p.Problem != "":
		case p.USB != "":
			return p.Path, text("first.port", strings.TrimSuffix(p.Path+", "+p.Says(), ", "))
		default:
			return p.Path, text("first.builtin", p.Path)
		}
	}
	return "", ""
}
