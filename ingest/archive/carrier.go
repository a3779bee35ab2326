package archive

import (
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// Names of the files in the directory of a store that tell its archive.
const (
	SettingsName = "archive.json"
	TokenName    = "archive.token"
)

// Told is what a daemon was told of its archive.
type Told struct {
	Settings        // without the token itself
	Given    bool   // an archive is told
	Fixed    bool   // by the command line or the environment: it cannot be changed here
	Problem  string // why nothing is pushed though one is told; empty: nothing is wrong with the settings
}

// Carrier pushes beside a daemon, with the settings in force, takes other ones
// while it runs, and pushes at once when somebody asks. Its methods may be
// called from any goroutine.
type Carrier struct {
	store *store.Store
	log   *slog.Logger

	setting sync.Mutex // held while settings change
	mu      sync.Mutex
	told    Told
	pusher  *Pusher // nil: there is nothing to push to
	changed chan struct{}
	asked   chan struct{}
}

// NewCarrier makes a Carrier with what was told: the settings, or why they
// cannot be read. What is wrong with them is logged, and kept for those who
// ask; it is no reason not to record.
func NewCarrier(ctx context.Context, db *store.Store, log *slog.Logger, told Told, wrong error) *Carrier {
	c := &Carrier{store: db, log: log, changed: make(chan struct{}, 1), asked: make(chan struct{}, 1)}
	c.use(ctx, told, wrong)
	return c
}

// use puts settings in force.
func (c *Carrier) use(ctx context.Context, told Told, wrong error) {
	var pusher *Pusher
	if told.Given && wrong == nil {
		var server *Server
		if server, wrong = Connect(told.Settings); wrong == nil {
			pusher = NewPusher(Config{Store: c.store, Server: server, Log: c.log})
		}
	}
	if wrong != nil {
		told.Problem = words.Say("archive.stands", wrong)
		if told.Fixed {
			told.Problem = words.Say("archive.stands.fixed", wrong)
		}
		c.log.Warn("nothing can be archived", "error", told.Problem)
		if told.Settings.Check() == nil {
			if err := c.store.ArchiveFailed(ctx, told.Address(), told.Problem); err != nil {
				c.log.Warn("that nothing can be archived could not be kept", "error", err)
			}
		}
	}
	told.Token = ""
	c.mu.Lock()
	defer c.mu.Unlock()
	c.told, c.pusher = told, pusher
	wake(c.changed)
}

// wake says something to whoever listens next; once is enough.
func wake(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// Run pushes until ctx ends.
func (c *Carrier) Run(ctx context.Context) {
	for ctx.Err() == nil {
		c.mu.Lock()
		pusher := c.pusher
		c.mu.Unlock()
		within, stop := context.WithCancel(ctx)
		var work sync.WaitGroup
		if pusher != nil {
			work.Go(func() { pusher.Follow(within, Pace{Asked: c.asked}) })
		}
		select {
		case <-c.changed:
		case <-ctx.Done():
		}
		stop()
		work.Wait()
		if pusher != nil {
			pusher.cfg.Server.Close()
		}
	}
}

// Told is what was told, without the token.
func (c *Carrier) Told() Told {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.told
}

// ErrNone says that there is no archive to push to.
var ErrNone = words.Kind("archive.error.none")

// PushNow has everything pushed at once, what was refused before as well. It
// does not wait; how it went is in the store.
func (c *Carrier) PushNow() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.pusher == nil {
		return ErrNone
	}
	wake(c.asked)
	return nil
}

// Pushing tells that a push goes on, or was asked for and begins soon.
func (c *Carrier) Pushing() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.pusher != nil && (len(c.asked) > 0 || c.pusher.busy.Load())
}

// What Change refuses.
var (
	ErrFixed = words.Kind("archive.error.fixed")
	ErrToken = words.Kind("archive.error.token")
	// ErrOtherServer keeps a token from going to a server that it is not for.
	ErrOtherServer = words.Kind("archive.error.otherserver")
)

// Change puts other settings in force and keeps them in the directory of the
// store, the token in a file of its own that nobody else may read. Without a
// Token in them the one that is kept stays, as long as the server is the same.
// Settings that cannot work are refused, and nothing changes then.
func (c *Carrier) Change(ctx context.Context, s Settings) error {
	c.setting.Lock()
	defer c.setting.Unlock()
	before := c.Told()
	if before.Fixed {
		return ErrFixed
	}
	if err := s.Check(); err != nil {
		return err
	}
	token := s.Token
	switch {
	case token != "":
		if !validToken(string(token)) {
			return ErrToken
		}
	case before.TokenFile != "" && server(before.URL) != server(s.URL):
		return ErrOtherServer
	default:
		s.TokenFile = before.TokenFile
	}
	if _, err := Connect(s); err != nil { // it speaks to nobody yet
		return err
	}
	if token != "" {
		s.Token, s.TokenFile = "", filepath.Join(c.store.Dir(), TokenName)
		if err := replaceFile(s.TokenFile, []byte(token+"\n")); err != nil {
			return words.Error("archive.error.keeptoken", err)
		}
	}
	if err := s.write(filepath.Join(c.store.Dir(), SettingsName)); err != nil {
		return words.Error("archive.error.keep", err)
	}
	c.use(ctx, Told{Settings: s, Given: true}, nil)
	c.log.Info("another archive is told", "archive", s.Address())
	return nil
}

// Reread puts in force what read gives now: somebody may have written other
// settings beside the program. What the command line or the environment tells
// stays.
func (c *Carrier) Reread(ctx context.Context, read func() (Told, error)) {
	c.setting.Lock()
	defer c.setting.Unlock()
	if c.Told().Fixed {
		return
	}
	told, wrong := read()
	c.use(ctx, told, wrong)
	if wrong == nil {
		c.log.Info("what is told of the archive was read again", "given", told.Given)
	}
}

// Forget ends pushing and removes the settings, and the token where Change
// wrote it. What is in the archive stays there, and how far it is stays known.
func (c *Carrier) Forget(ctx context.Context) error {
	c.setting.Lock()
	defer c.setting.Unlock()
	before := c.Told()
	if before.Fixed {
		return ErrFixed
	}
	gone := []string{filepath.Join(c.store.Dir(), SettingsName)}
	if own := filepath.Join(c.store.Dir(), TokenName); before.TokenFile == own {
		gone = append(gone, own)
	}
	for _, name := range gone {
		if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return words.Error("archive.error.remove", err)
		}
	}
	c.use(ctx, Told{}, nil)
	c.log.Info("no archive is told any more")
	return nil
}

// server is the part of an address that says who gets a token.
func server(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return address
	}
	return strings.ToLower(u.Scheme + "://" + u.Host)
}
