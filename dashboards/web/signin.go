package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tautlog/dashboards/people"
)

func (s *server) signInRoutes() []route {
	return []route{
		reads("GET /sign-in", s.signInPage).toAnybody(),
		chooses("POST /sign-in", s.signIn).toAnybody(),
		reads("GET /in/{pass}", s.passPage).toAnybody(),
		chooses("POST /in/{pass}", s.usePass).toAnybody(),
		chooses("POST /sign-out", s.signOut),
	}
}

// signInView is the page on which somebody says who they are.
type signInView struct {
	Fields    []entry
	Wrong     string
	Back      string
	Token     string
	Here      bool
	Nobody    bool // there is no one yet who could sign in
	Encrypted bool
	Pass      string // of a one-time link: whom it signs in
	Role      people.Role
}

func (s *server) signInView(r *http.Request, back, wrong string) signInView {
	v := visitorOf(r.Context())
	return signInView{Wrong: wrong, Back: ownPath(back), Token: s.tokenIn(r.Context()), Here: v.Here, Encrypted: s.Encrypted}
}

func (s *server) signInPage(w http.ResponseWriter, r *http.Request) error {
	return s.askWho(w, r, http.StatusOK, r.URL.Query().Get("back"), "")
}

// askWho shows the form of the sign-in.
func (s *server) askWho(w http.ResponseWriter, r *http.Request, status int, back, wrong string) error {
	v := s.signInView(r, back, wrong)
	all, err := s.Store.People(r.Context())
	if err != nil {
		return err
	}
	v.Nobody = len(all) == 0
	f := newSheet(url.Values{"name": {r.PostForm.Get("name")}})
	v.Fields = f.set(entry{Name: "name", Label: text("field.name"), Fill: "username"}, entry{Name: "password", Label: text("field.password"), Kind: "password", Fill: "current-password"})
	return s.showAs(w, r, status, "signin", text("signin.title"), v)
}

func (s *server) signIn(w http.ResponseWriter, r *http.Request) error {
	secret, n, err := s.door.SignIn(r.Context(), r.PostForm.Get("name"), r.PostForm.Get("password"), clientOf(r))
	if said, ok := s.signInSays(w, err); ok {
		return s.askWho(w, r, said.status, r.PostForm.Get("back"), said.say)
	}
	if err != nil {
		return err
	}
	s.keepSession(w, secret, n)
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}

// signInSays makes an answer for people of why nobody was signed in.
func (s *server) signInSays(w http.ResponseWriter, err error) (refusal, bool) {
	if wait, ok := errors.AsType[people.WaitError](err); ok {
		w.Header().Set("Retry-After", strconv.Itoa(int(wait.For.Seconds())+1))
		return refusal{http.StatusTooManyRequests, sentence(err.Error())}, true
	}
	if errors.Is(err, people.ErrWrong) {
		return refusal{http.StatusUnauthorized, sentence(err.Error())}, true
	}
	return refusal{}, false
}

// passPage asks whether a one-time link is to be used. Asking first keeps it
// from being used up by a program that only looks at links.
func (s *server) passPage(w http.ResponseWriter, r *http.Request) error {
	p, err := s.door.PassOf(r.Context(), r.PathValue("pass"))
	if said, ok := s.signInSays(w, err); ok {
		return s.askWho(w, r, said.status, "", said.say)
	}
	if err != nil {
		return err
	}
	v := s.signInView(r, "", "")
	v.Pass, v.Role = p.Name, people.Role(p.Role)
	return s.show(w, r, "signin", text("signin.title"), v)
}

func (s *server) usePass(w http.ResponseWriter, r *http.Request) error {
	secret, n, err := s.door.UsePass(r.Context(), r.PathValue("pass"), clientOf(r))
	if said, ok := s.signInSays(w, err); ok {
		return s.askWho(w, r, said.status, "", said.say)
	}
	if err != nil {
		return err
	}
	s.keepSession(w, secret, n)
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

func (s *server) signOut(w http.ResponseWriter, r *http.Request) error {
	if v := visitorOf(r.Context()); v.Session != 0 {
		if err := s.Store.EndSession(r.Context(), v.Session); err != nil && !errorsIsNotFound(err) {
			return err
		}
	}
	s.dropSession(w)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// deviceWords says in words which device a browser says it runs on. What it
// says may be anything, so only known words are taken from it.
func deviceWords(agent string) string {
	device := text("device.other")
	for _, d := range []struct{ mark, name string }{
		{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android"}, {"Windows", "Windows"}, {"Macintosh", "Mac"}, {"CrOS", "ChromeOS"}, {"Linux", "Linux"},
	} {
		if strings.Contains(agent, d.mark) {
			device = d.name
			break
		}
	}
	for _, b := range []struct{ mark, name string }{{"Firefox/", "Firefox"}, {"Edg", "Edge"}, {"Chrome/", "Chrome"}, {"CriOS/", "Chrome"}, {"Safari/", "Safari"}} {
		if strings.Contains(agent, b.mark) {
			return device + ", " + b.name
		}
	}
	return device
}
