package web

import (
	"context"
	"crypto/rand"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"

	"tautlog/ingest/record"
	"tautlog/ingest/store"
	"tautlog/ingest/watch"
)

// Config says what the pages show. Store is needed; without a Recorder and a
// Watcher the pages show what is stored and say that nothing is recorded.
type Config struct {
	Store    *store.Store
	Recorder *record.Recorder
	Watcher  *watch.Watcher
	// Log receives what an operator may want to read later; nil for nothing.
	Log *slog.Logger
	// Now is the clock; time.Now when nil.
	Now func() time.Time
	// Zone is where times are shown; time.Local when nil.
	Zone *time.Location
	// Demo says on every page that all data are made up.
	Demo bool
	// Hosts are names and addresses, without port, under which the pages may
	// be asked for besides the loopback ones.
	Hosts []string
}

type server struct {
	Config
	assets   assets
	pages    pages
	troubles troubles
	boot     string // names this run of the daemon
	token    string // proves that a form came from one of its pages
	log      pullLog
}

// New makes the handler of all pages.
func New(c Config) (http.Handler, error) {
	if c.Store == nil {
		return nil, errors.New("web: no store to show")
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Zone == nil {
		c.Zone = time.Local
	}
	s := &server{Config: c, boot: rand.Text(), token: rand.Text()}
	s.troubles.store = c.Store
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.pages, err = loadPages(); err != nil {
		return nil, err
	}
	return s.guard(s.routes()), nil
}

func (s *server) routes() http.Handler {
	mux := http.NewServeMux()
	page := func(pattern string, h func(http.ResponseWriter, *http.Request) error) {
		mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) { s.answer(w, r, h(w, r)) })
	}
	page("GET /{$}", s.first)
	page("GET /plan", s.plan)
	page("GET /plan/{kind}", s.planForm)
	page("POST /plan/{kind}/keep", s.keepPlan)
	page("GET /plan/kept/{id}", s.keptPlan)
	page("POST /plan/kept/{id}/remove", s.removePlan)
	page("POST /plan/kept/{id}/back", s.bringPlanBack)
	page("GET /line", s.line)
	page("GET /line/results", s.lineResults)
	page("GET /line/rig", s.lineRig)
	page("POST /line/setup", s.setUp)
	page("GET /pulls", s.pulls)
	page("GET /pulls/{id}", s.pull)
	page("GET /pulls/{id}/result", s.pullResult)
	page("POST /pulls/{id}", s.editPull)
	page("POST /pulls/{id}/undo", s.undoPull)
	page("GET /multipliers", s.multipliers)
	page("GET /multipliers/next", s.next)
	page("POST /multipliers/keep", s.keepSet)
	page("POST /multipliers/use", s.useSet)
	page("POST /multipliers/assume", s.assumeSet)
	s.gearRoutes(page)
	s.vehicleRoutes(page)
	s.rigRoutes(page)
	page("GET /cells", s.cells)
	page("POST /choose", s.choose)
	page("GET /api/cells", s.apiCells)
	page("GET /api/pulls", s.apiPulls)
	page("GET /api/pulls/{id}", s.apiPull)
	page("GET /api/pulls/{id}/trace", s.apiPullTrace)
	page("GET /api/trace", s.apiTrace)
	page("GET /api/multipliers", s.apiSet)
	page("GET /api/multipliers/classes.csv", s.apiClasses)
	page("GET /api/multipliers/pulls.csv", s.apiSetPulls)
	page("GET /api/multipliers/speed", s.apiSpeedChart)
	page("GET /api/multipliers/residuals", s.apiResiduals)
	page("GET /api/multipliers/classes", s.apiClassChart)
	page("GET /api/live", s.live)
	page("GET /assets/{version}/{name}", s.asset)
	page("/", func(http.ResponseWriter, *http.Request) error { return notHere() })
	return mux
}

// Serve answers on ln until ctx ends. Then running requests, streams
// included, are ended and Serve returns nil.
func Serve(ctx context.Context, ln net.Listener, h http.Handler) error {
	srv := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second,
		WriteTimeout:      30 * time.Second, // streams move their own deadline on
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	done := make(chan error, 1)
	stop := context.AfterFunc(ctx, func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		done <- srv.Shutdown(last)
	})
	err := srv.Serve(ln)
	if stop() { // not ended by ctx: the listener failed
		return err
	}
	return <-done
}
