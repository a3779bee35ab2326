package people

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// How long things hold.
const (
	// PassFor is the life of a pass: time to point a phone at it.
	PassFor = 5 * time.Minute
	// sessionUnused ends a session that nobody used; a weekend of test days fits.
	sessionUnused = 3 * 24 * time.Hour
	// sessionWhole ends a session whoever uses it.
	sessionWhole = 30 * 24 * time.Hour
	// touchEvery is how exactly the last use of a session is known: a request
	// that only looks should not write each time.
	touchEvery = time.Minute
)

// What can be wrong. Each error of this package wraps one of these and says in
// full what and what to do.
var (
	ErrWrong  = words.Kind("door.not-in")
	ErrWait   = words.Kind("door.many")
	ErrWeak   = words.Kind("door.password")
	ErrName   = words.Kind("door.name")
	ErrRole   = words.Kind("door.norole")
	ErrNobody = words.Kind("door.nobody")
)

func refused(reason error, name string, args ...any) error {
	return fmt.Errorf("%w: %s", reason, words.Say(name, args...))
}

// WaitError says how long to wait before another attempt. It wraps ErrWait.
type WaitError struct{ For time.Duration }

// Error says how long to wait, in whole minutes.
func (e WaitError) Error() string {
	return words.Say("door.wait", ErrWait, int((e.For+time.Minute-1)/time.Minute))
}

// Unwrap gives ErrWait.
func (e WaitError) Unwrap() error { return ErrWait }

// Client is where a request came from.
type Client struct {
	Address string // IP address without port
	Device  string // what the browser calls itself
}

// Desk signs people in. It may be used from any goroutine.
type Desk struct {
	store   *store.Store
	now     func() time.Time
	tries   throttle
	hashing chan struct{} // one hash at a time: each takes 64 MiB
}

// NewDesk makes a desk over the people of a store; now is its clock.
func NewDesk(s *store.Store, now func() time.Time) *Desk {
	return &Desk{store: s, now: now, hashing: make(chan struct{}, 1)}
}

// Add adds a person. Without a password they are signed in by passes only.
func (d *Desk) Add(ctx context.Context, name string, role Role, password string) (store.Person, error) {
	p := store.Person{Name: strings.TrimSpace(name), Role: string(role)}
	if err := checkName(p.Name); err != nil {
		return p, err
	}
	if !role.Known() {
		return p, refused(ErrRole, "door.role", role, Operator, Viewer)
	}
	if password != "" {
		var err error
		if p.Password, err = d.hash(ctx, password); err != nil {
			return p, err
		}
	}
	p, err := d.store.SavePerson(ctx, p)
	if errors.Is(err, store.ErrConflict) {
		err = refused(ErrName, "door.there", p.Name)
	}
	return p, err
}

// checkName refuses what could not be told apart in the journal: control
// characters, and the names under which the program itself changes things.
func checkName(name string) error {
	n := utf8.RuneCountInString(name)
	if n == 0 || n > 80 || !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return refused(ErrName, "door.length")
	}
	for _, ours := range []string{"tautlog", "pages", "demonstration"} {
		if strings.EqualFold(name, ours) {
			return refused(ErrName, "door.ours", name)
		}
	}
	return nil
}

// SetPassword gives a person another password and signs them out everywhere.
// An empty one leaves them only passes.
func (d *Desk) SetPassword(ctx context.Context, id int64, password string) error {
	p, err := d.store.Person(ctx, id)
	if err != nil {
		return err
	}
	p.Password = ""
	if password != "" {
		if p.Password, err = d.hash(ctx, password); err != nil {
			return err
		}
	}
	if _, err := d.store.SavePerson(ctx, p); err != nil {
		return err
	}
	return d.store.EndSessions(ctx, id)
}

// SignIn starts a session for who knows the password of name. What is wrong,
// the name or the password, is not said.
func (d *Desk) SignIn(ctx context.Context, name, password string, c Client) (secret string, n store.Session, err error) {
	name = strings.TrimSpace(name)
	if wait := d.tries.begin(d.now(), cutName(name), c.Address); wait > 0 {
		return "", n, WaitError{wait}
	}
	p, err := d.store.PersonByName(ctx, name)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return "", n, err
	}
	good, err := d.check(ctx, p.Password, password)
	if err != nil {
		return "", n, err
	}
	if !good {
		return "", n, refused(ErrWrong, "door.wrong")
	}
	d.tries.succeed(cutName(name), c.Address)
	return d.start(ctx, p, c)
}

// cutName bounds what the throttle remembers of a name.
func cutName(name string) string { return name[:min(len(name), 100)] }

// Pass makes a secret that signs a person in once, within PassFor.
func (d *Desk) Pass(ctx context.Context, person int64) (secret string, err error) {
	secret, now := rand.Text(), d.now()
	return secret, d.store.AddPass(ctx, hashSecret(secret), person, now, now.Add(PassFor))
}

// PassOf says whom a pass would sign in, and leaves it as it is.
func (d *Desk) PassOf(ctx context.Context, secret string) (store.Person, error) {
	p, err := d.store.PassFor(ctx, hashSecret(secret), d.now())
	return p, passSays(err)
}

// UsePass starts a session by a pass.
func (d *Desk) UsePass(ctx context.Context, pass string, c Client) (secret string, n store.Session, err error) {
	if wait := d.tries.begin(d.now(), "", c.Address); wait > 0 {
		return "", n, WaitError{wait}
	}
	p, err := d.store.TakePass(ctx, hashSecret(pass), d.now())
	if err != nil {
		return "", n, passSays(err)
	}
	d.tries.succeed("", c.Address)
	return d.start(ctx, p, c)
}

func passSays(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return refused(ErrWrong, "door.used", int(PassFor/time.Minute))
	}
	return err
}

func (d *Desk) start(ctx context.Context, p store.Person, c Client) (secret string, n store.Session, err error) {
	secret, now := rand.Text(), d.now()
	p.Password = ""
	n, err = d.store.StartSession(ctx, hashSecret(secret), store.Session{
		Person: p, Device: c.Device, Address: c.Address, Made: now, Seen: now, Ends: now.Add(sessionUnused),
	})
	return secret, n, err
}

// Session gives the session of a secret, and notes its use. A session that has
// ended, or never was, is ErrWrong.
func (d *Desk) Session(ctx context.Context, secret, address string) (store.Session, error) {
	now := d.now()
	n, err := d.store.SessionByHash(ctx, hashSecret(secret))
	switch {
	case errors.Is(err, store.ErrNotFound), err == nil && !n.Ends.After(now):
		return store.Session{}, refused(ErrWrong, "door.notin")
	case err != nil:
		return n, err
	}
	if now.Sub(n.Seen) >= touchEvery || n.Address != address {
		n.Seen, n.Address, n.Ends = now, address, now.Add(sessionUnused)
		if last := n.Made.Add(sessionWhole); n.Ends.After(last) {
			n.Ends = last
		}
		return n, d.store.TouchSession(ctx, n)
	}
	return n, nil
}

func (d *Desk) hash(ctx context.Context, password string) (hash string, err error) {
	err = d.oneAtATime(ctx, func() error {
		hash, err = hashPassword(password)
		return err
	})
	return hash, err
}

func (d *Desk) check(ctx context.Context, hash, password string) (good bool, err error) {
	err = d.oneAtATime(ctx, func() error {
		good = checkPassword(hash, password[:min(len(password), mostBytes+1)])
		return nil
	})
	return good, err
}

func (d *Desk) oneAtATime(ctx context.Context, f func() error) error {
	select {
	case d.hashing <- struct{}{}:
		defer func() { <-d.hashing }()
		return f()
	case <-ctx.Done():
		return ctx.Err()
	}
}

func hashSecret(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}
