package people

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

var phone = Client{Address: "192.168.4.20", Device: "Android, Chrome"}

// clock is a clock that a test moves on.
type clock struct{ at time.Time }

func (c *clock) now() time.Time { return c.at }

func newDesk(t *testing.T) (*Desk, *store.Store, *clock) {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	c := &clock{time.Date(2026, 5, 17, 9, 0, 0, 0, time.UTC)}
	return NewDesk(s, c.now), s, c
}

// TestPasswordHash holds what a hash is for: its password alone, under the
// costs that it names.
func TestPasswordHash(t *testing.T) {
	t.Parallel()
	a, err := hashPassword("three short words")
	require.NoError(t, err)
	b, err := hashPassword("three short words")
	require.NoError(t, err)
	assert.NotEqual(t, a, b, "the same salt twice")
	assert.True(t, strings.HasPrefix(a, "$argon2id$v=19$m=65536,t=3,p=4$"), a)
	assert.True(t, checkPassword(a, "three short words"))
	assert.False(t, checkPassword(a, "three short word"))
	for _, bad := range []string{"", "three short words", a[:len(a)-1], a + "$", strings.Replace(a, "argon2id", "argon2i", 1), strings.Replace(a, "t=3", "t=1", 1)} {
		assert.False(t, checkPassword(bad, "three short words"), bad)
	}
}

// TestNamesRolesAndPasswords lists what cannot be used.
func TestNamesRolesAndPasswords(t *testing.T) {
	t.Parallel()
	d, _, _ := newDesk(t)
	_, err := d.Add(t.Context(), "Mira", Operator, "")
	require.NoError(t, err)
	for _, c := range []struct {
		name, role, password string
		want                 error
	}{
		{"mira", "viewer", "", ErrName}, {"", "viewer", "", ErrName}, {"  ", "viewer", "", ErrName},
		{strings.Repeat("a", 81), "viewer", "", ErrName}, {"a\nb", "viewer", "", ErrName}, {"TAUTLOG", "viewer", "", ErrName},
		{"pages", "viewer", "", ErrName}, {"Jun", "", "", ErrRole}, {"Jun", "admin", "", ErrRole},
		{"Jun", "viewer", "short", ErrWeak}, {"Jun", "viewer", strings.Repeat("a", 300), ErrWeak}, {"Jun", "viewer", "\xff\xfe\xfd\xfc\xfb\xfa\xf9\xf8", ErrWeak},
	} {
		_, err := d.Add(t.Context(), c.name, Role(c.role), c.password)
		assert.ErrorIs(t, err, c.want, "%q %q %q", c.name, c.role, c.password)
	}
}

// TestSignIn goes from a password to a session and to its end.
func TestSignIn(t *testing.T) {
	t.Parallel()
	d, s, c := newDesk(t)
	ctx := t.Context()
	p, err := d.Add(ctx, "Mira", Viewer, "three short words")
	require.NoError(t, err)
	_, _, err = d.SignIn(ctx, "Mira", "three wrong words", phone)
	require.ErrorIs(t, err, ErrWrong)
	_, _, err = d.SignIn(ctx, "Nobody", "three short words", phone)
	require.ErrorIs(t, err, ErrWrong)
	secret, n, err := d.SignIn(ctx, "mira", "three short words", phone)
	require.NoError(t, err)
	assert.Equal(t, []any{"Mira", "viewer", "Android, Chrome", ""}, []any{n.Person.Name, n.Person.Role, n.Device, n.Person.Password})
	assert.GreaterOrEqual(t, len(secret), 26)

	c.at = c.at.Add(2 * 24 * time.Hour)
	n, err = d.Session(ctx, secret, "192.168.4.21")
	require.NoError(t, err)
	assert.Equal(t, []any{"192.168.4.21", c.at}, []any{n.Address, n.Seen})
	for _, forged := range []string{"", "x", secret + "x", strings.ToLower(secret), hashSecret(secret)} {
		_, err = d.Session(ctx, forged, phone.Address)
		assert.ErrorIs(t, err, ErrWrong, forged)
	}
	p.Role = string(Operator)
	p.Password, err = hashPassword("three short words")
	require.NoError(t, err)
	_, err = s.SavePerson(ctx, p)
	require.NoError(t, err)
	n, err = d.Session(ctx, secret, phone.Address)
	require.NoError(t, err)
	assert.Equal(t, "operator", n.Person.Role, "another role counts at once")

	for range 20 { // used every other day it still ends after thirty
		c.at = c.at.Add(2 * 24 * time.Hour)
		_, err = d.Session(ctx, secret, phone.Address)
	}
	require.ErrorIs(t, err, ErrWrong)
	secret, _, err = d.SignIn(ctx, "Mira", "three short words", phone)
	require.NoError(t, err)
	c.at = c.at.Add(sessionUnused)
	_, err = d.Session(ctx, secret, phone.Address)
	assert.ErrorIs(t, err, ErrWrong, "nobody used it")
}

// TestLostPhone signs out one session, and everywhere, by each of the ways.
func TestLostPhone(t *testing.T) {
	t.Parallel()
	d, s, _ := newDesk(t)
	ctx := t.Context()
	p, err := d.Add(ctx, "Mira", Viewer, "")
	require.NoError(t, err)
	signIn := func() (string, store.Session) {
		pass, err := d.Pass(ctx, p.ID)
		require.NoError(t, err)
		secret, n, err := d.UsePass(ctx, pass, phone)
		require.NoError(t, err)
		return secret, n
	}
	for how, end := range map[string]func(store.Session) error{
		"one":      func(n store.Session) error { return s.EndSession(ctx, n.ID) },
		"theirs":   func(store.Session) error { return s.EndSessions(ctx, p.ID) },
		"all":      func(store.Session) error { return s.EndSessions(ctx, 0) },
		"password": func(store.Session) error { return d.SetPassword(ctx, p.ID, "four other short words") },
	} {
		secret, n := signIn()
		_, err := d.Session(ctx, secret, phone.Address)
		require.NoError(t, err, how)
		require.NoError(t, end(n), how)
		_, err = d.Session(ctx, secret, phone.Address)
		assert.ErrorIs(t, err, ErrWrong, how)
	}
	secret, _ := signIn()
	require.NoError(t, s.RemovePerson(ctx, p.ID))
	_, err = d.Session(ctx, secret, phone.Address)
	assert.ErrorIs(t, err, ErrWrong)
	require.NoError(t, s.Integrity(ctx))
}

// TestPass uses a pass once, by many at the same moment, and too late.
func TestPass(t *testing.T) {
	t.Parallel()
	d, _, c := newDesk(t)
	ctx := t.Context()
	p, err := d.Add(ctx, "Jun", Viewer, "")
	require.NoError(t, err)
	pass, err := d.Pass(ctx, p.ID)
	require.NoError(t, err)
	who, err := d.PassOf(ctx, pass)
	require.NoError(t, err)
	assert.Equal(t, "Jun", who.Name)
	var wg sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		wg.Go(func() {
			_, _, errs[i] = d.UsePass(ctx, pass, Client{Address: fmt.Sprintf("192.168.4.%d", i+1)})
		})
	}
	wg.Wait()
	good := 0
	for _, err := range errs {
		if err == nil {
			good++
		} else {
			assert.ErrorIs(t, err, ErrWrong)
		}
	}
	assert.Equal(t, 1, good)
	pass, err = d.Pass(ctx, p.ID)
	require.NoError(t, err)
	c.at = c.at.Add(PassFor)
	_, _, err = d.UsePass(ctx, pass, phone)
	assert.ErrorIs(t, err, ErrWrong, "too late")
	_, _, err = d.SignIn(ctx, "Jun", "", phone)
	assert.ErrorIs(t, err, ErrWrong, "who has no password signs in by a pass only")
}

// TestThrottle counts attempts by name from anywhere, and by address whatever
// the names, and lets people try again after a while.
func TestThrottle(t *testing.T) {
	t.Parallel()
	var th throttle
	now := time.Date(2026, 5, 17, 9, 0, 0, 0, time.UTC)
	for i := range triesOfName {
		require.Zero(t, th.begin(now, "Mira", fmt.Sprintf("10.0.0.%d", i)))
	}
	assert.Equal(t, forgottenAfter, th.begin(now, "MIRA", "10.0.0.99"))
	assert.Zero(t, th.begin(now, "Jun", "10.0.0.1"))
	assert.Zero(t, th.begin(now.Add(forgottenAfter), "Mira", "10.0.0.1"))

	th = throttle{}
	for i := range triesOfAddress {
		require.Zero(t, th.begin(now, fmt.Sprint("name", i), fmt.Sprintf("fe80:1:2:3::%d", i)))
	}
	assert.Positive(t, th.begin(now, "another", "fe80:1:2:3:4:5:6:7"), "another address of the same machine")
	assert.Zero(t, th.begin(now, "another", "fe80:1:2:4::1"))
	th.succeed("another", "fe80:1:2:3::1")
	assert.Zero(t, th.begin(now, "another", "fe80:1:2:3::1"))
	assert.Positive(t, th.begin(now, "third", "fe80:1:2:3::1"), "success gives one attempt back, not all")
}
