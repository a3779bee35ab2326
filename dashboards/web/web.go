package web

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"tautlog/dashboards/guide"
	"tautlog/dashboards/logbook"
	"tautlog/dashboards/people"
	"tautlog/ingest/archive"
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
	// Version is that of the program, for reports.
	Version string
	// Demo says on every page that all data are made up.
	Demo bool
	// Hosts are names and addresses, without port, under which the pages may
	// be asked for besides the loopback ones.
	Hosts []string
	// Network is the address at which other machines find the pages: that of
	// one network, or an unspecified one (0.0.0.0) for all. The zero value: the
	// pages are for this machine only. From elsewhere a sign-in is needed.
	Network netip.AddrPort
	// Encrypted says that the pages are served over TLS.
	Encrypted bool
	// Sample is an invented test day that is offered where nothing is stored
	// yet; nil: none is.
	Sample Sample
	// Archive pushes the store to an archive; nil: nothing is ever pushed.
	Archive *archive.Carrier
	// User is under which name changes from this machine are entered in the
	// journal, unless a person says another.
	User string
	// MadeUp says whether a store, in its directory, was filled by a
	// demonstration; nil: none was.
	MadeUp func(ctx context.Context, st *store.Store, dir string) (bool, error)
}

// Sample is an invented test day in a store of its own, apart from what is
// recorded. Open makes it, Close throws it away; both are called in turns.
type Sample interface {
	Open(context.Context) (*store.Store, error)
	Close() error
}

type server struct {
	Config
	sample   visited // the sample days
	brought  visited // a store that a saved file was made, or another one next to the own
	ofSample bool    // its store is that of the sample days
	own      string  // what the own store is called then
	instead  string  // what its store is called, where it is shown in place of the own; else empty
	assets   assets
	pages    pages
	troubles troubles
	boot     string // names this run of the daemon
	key      string // of the tokens that prove that a form came from one of its pages
	forms    string // mark of the store that its forms change; empty: the own
	door     *people.Desk
	closed   *http.ServeMux // the routes that a viewer is refused though they change nothing
	local    localAddresses
	streams  *crowd // of the live line
	book     *logbook.Book
	ear      ear
	saving   sync.Mutex // held while everything is saved in one file

	guideText template.HTML
}

// Pages answers for all pages.
type Pages struct {
	http.Handler
	server *server
}

// New makes the pages.
func New(c Config) (*Pages, error) {
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
	s := &server{Config: c, boot: rand.Text(), key: rand.Text(), door: people.NewDesk(c.Store, c.Now), streams: newCrowd(streamsOfOne, streamsOfAll)}
	s.keepUp()
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.pages, err = loadPages(); err != nil {
		return nil, err
	}
	if s.guideText, err = guide.Text("/guide/"); err != nil {
		return nil, err
	}
	return &Pages{s.guard(s.visits(s.router())), s}, nil
}

// keepUp gives the server what it keeps in memory of its store.
func (s *server) keepUp() {
	s.troubles.store, s.troubles.zone = s.Store, s.Zone
	s.book = logbook.New(s.Store, s.Zone)
}

// Run prepares what the pages of a large register and log need, so that nobody
// has to wait for it, and keeps what takes long up to date in the background,
// until ctx ends. Without it each page works out what it needs when it is asked
// for. A store that is looked at beside the own one is closed at its end.
func (p *Pages) Run(ctx context.Context) error {
	defer p.server.closeBrought()
	failed := func(err error) { p.server.Log.Error("in the background for the pages", "problem", err) }
	if _, err := p.server.troubles.all(ctx, p.server.today()); err != nil && ctx.Err() == nil {
		failed(err)
	}
	p.server.book.Run(ctx, failed)
	return nil
}

// Serve answers on ln until ctx ends. Then running requests, streams
// included, are ended and Serve returns nil. With a certificate it speaks TLS.
func Serve(ctx context.Context, ln net.Listener, h http.Handler, cert *tls.Certificate) error {
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
		err := srv.Shutdown(last)
		if errors.Is(err, context.DeadlineExceeded) {
			err = srv.Close() // a browser holds a connection that it has never used
		}
		done <- err
	})
	err := serve(srv, boundedTo(ln), cert)
	if stop() { // not ended by ctx: the listener failed
		return err
	}
	return <-done
}

func serve(srv *http.Server, ln net.Listener, cert *tls.Certificate) error {
	if cert == nil {
		return srv.Serve(ln)
	}
	srv.TLSConfig = &tls.Config{Certificates: []tls.Certificate{*cert}, MinVersion: tls.VersionTLS12}
	return srv.ServeTLS(ln, "", "")
}
