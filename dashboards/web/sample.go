package web

import (
	"net/http"
	"strings"

	"tautlog/ingest/listen"
	"tautlog/ingest/store"
)

func (s *server) sampleRoutes() []route {
	return []route{
		writes("POST /sample", s.openSample),
		chooses("POST /sample/away", s.putSampleAway),
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
	if s.sample.mark == "" {
		st, err := s.Sample.Open(r.Context())
		if err != nil {
			return err
		}
		s.sample.serve(s, st, true, s.Sample.Close).ofSample = true
	}
	s.sample.lookAt(w)
	days, err := s.sample.server.Store.Days(r.Context())
	if err != nil {
		return err
	}
	to := "/days"
	if len(days) > 0 {
		to += "/" + days[0].Date
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// putSampleAway has this browser look at the own store again. An operator throws
// the sample day away, for everybody.
func (s *server) putSampleAway(w http.ResponseWriter, r *http.Request) error {
	lookAway(w)
	if visitorOf(r.Context()).Operator() {
		s.sample.mu.Lock()
		defer s.sample.mu.Unlock()
		if err := s.sample.end(); err != nil {
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
