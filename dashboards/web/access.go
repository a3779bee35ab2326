package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"

	"tautlog/dashboards/people"
	"tautlog/ingest/store"
)

// visitor is who sent a request. The zero visitor is nobody in particular.
type visitor struct {
	Name    string
	Role    people.Role
	Here    bool  // they sit at this machine, and need no sign-in
	Session int64 // of the browser that is signed in; 0 here
	secret  string
}

// Operator says that they may change things.
func (v visitor) Operator() bool { return v.Role.May(people.Operator) }

type visitorKey struct{}

func visitorOf(ctx context.Context) visitor {
	v, _ := ctx.Value(visitorKey{}).(visitor)
	return v
}

// meet finds out who sent a request: whoever sits at this machine, whoever
// signed this browser in, or nobody in particular.
func (s *server) meet(r *http.Request) (visitor, error) {
	if atThisMachine(r) {
		return visitor{Name: s.nameHere(r), Role: people.Operator, Here: true}, nil
	}
	c, err := r.Cookie(s.cookieName())
	if err != nil {
		return visitor{}, nil
	}
	n, err := s.door.Session(r.Context(), c.Value, clientOf(r).Address)
	if errors.Is(err, people.ErrWrong) {
		return visitor{}, nil
	}
	return visitor{Name: n.Person.Name, Role: people.Role(n.Person.Role), Session: n.ID, secret: c.Value}, err
}

// forwarded are headers by which a go-between says that it asks for another
// machine.
var forwarded = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip", "Via"}

// atThisMachine says that a request was sent by a browser of this machine, to
// this machine by its own name for itself.
func atThisMachine(r *http.Request) bool {
	for _, h := range forwarded {
		if r.Header.Get(h) != "" {
			return false
		}
	}
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && peer.Addr().Unmap().IsLoopback() && loopbackName(hostOf(r.Host))
}

// loopbackName says that host is what a machine calls itself.
func loopbackName(host string) bool {
	addr, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && addr.IsLoopback()
}

// nameHere is under which name somebody at this machine changes things: the
// one they wrote last, else that of the machine's user.
func (s *server) nameHere(r *http.Request) string {
	if c, err := r.Cookie("who"); err == nil {
		if who, err := url.QueryUnescape(c.Value); err == nil && who != "" {
			return cut(who, 80)
		}
	}
	if s.User != "" {
		return s.User
	}
	return editor
}

// editor is who the journal says changed something, where nobody said who sits
// at this machine.
const editor = "pages"

func clientOf(r *http.Request) people.Client {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	return people.Client{Address: host, Device: deviceWords(r.UserAgent())}
}

// admit lets a visitor through to a route, or says what it needs. The visitor
// is who the journal says changed something, whatever the page does.
func admit(rt route, r *http.Request) (*http.Request, error) {
	v := visitorOf(r.Context())
	if !rt.anybody && !v.Role.May(rt.needs()) {
		if v.Role.Known() {
			return r, refuse(http.StatusForbidden, text("refused.viewer", v.Name))
		}
		return r, refuse(http.StatusUnauthorized, text("refused.signin"))
	}
	if v.Name != "" {
		r = r.WithContext(store.WithWho(r.Context(), v.Name))
	}
	return r, nil
}

// needs is the least role that a route is for.
func (rt route) needs() people.Role {
	if rt.effect == writing || rt.operators {
		return people.Operator
	}
	return people.Viewer
}

// tokenIn proves that a form came from a page that was shown to the same
// visitor by this run of the program, and of the store that it is to change.
func (s *server) tokenIn(ctx context.Context) string { return s.tokenFor(ctx, s.forms) }

// tokenFor is the token of forms that change the store of that mark.
func (s *server) tokenFor(ctx context.Context, forms string) string {
	mac := hmac.New(sha256.New, []byte(s.key))
	mac.Write([]byte(forms + "\n"))
	v := visitorOf(ctx)
	if v.Here {
		mac.Write([]byte("here"))
	}
	mac.Write([]byte(v.secret))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// cookieName is that of the session. Over TLS the browser holds it to this
// very host.
func (s *server) cookieName() string {
	if s.Encrypted {
		return "__Host-tautlog"
	}
	return "tautlog"
}

// keepSession gives the browser the secret of its session. SameSite is lax so
// that a label's code opens its page; nothing is changed by a link.
func (s *server) keepSession(w http.ResponseWriter, secret string, n store.Session) {
	http.SetCookie(w, &http.Cookie{
		Name: s.cookieName(), Value: secret, Path: "/", MaxAge: 30 * 24 * 3600,
		HttpOnly: true, Secure: s.Encrypted, SameSite: http.SameSiteLaxMode,
	})
	s.Log.Info("signed in", "who", n.Person.Name, "role", n.Person.Role, "address", n.Address, "device", n.Device)
}

func (s *server) dropSession(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: s.cookieName(), Path: "/", MaxAge: -1, HttpOnly: true, Secure: s.Encrypted, SameSite: http.SameSiteLaxMode})
}

// stillIn says whether the visitor of a request that lasts is signed in yet.
func (s *server) stillIn(r *http.Request) bool {
	v := visitorOf(r.Context())
	if v.Here {
		return true
	}
	now, err := s.meet(r)
	return err == nil && now.Role.May(people.Viewer)
}
