package web

import (
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tautlog/dashboards/label"
	"tautlog/dashboards/people"
	"tautlog/ingest/store"
)

func (s *server) peopleRoutes() []route {
	return []route{
		reads("GET /people", s.people).toOperators(),
		writes("POST /people", s.addPerson),
		writes("POST /people/{id}/phone", s.signPhoneIn),
		writes("POST /people/{id}/password", s.setPassword),
		writes("POST /people/{id}/sign-out", s.signPersonOut),
		writes("POST /people/{id}/remove", s.removePerson),
		writes("POST /people/sign-out", s.signEverybodyOut),
		writes("POST /sessions/{id}/end", s.endSession),
	}
}

// peopleView is the page of who may use the pages from elsewhere.
type peopleView struct {
	Network   bool
	Encrypted bool
	Links     []string
	People    []personView
	Sessions  int
	Fields    []entry // of somebody new
	Token     string
	Phone     *phoneView
	Ended     bool // the session that the address names is not there any more
}

// personView is a person with the browsers they are signed in with.
type personView struct {
	store.Person
	Sessions []sessionView
}

// sessionView is one such browser.
type sessionView struct {
	ID              int64
	Device, Address string
	Made, Seen      string
	This            bool // the one that asks
}

// phoneView is a link that signs a phone in once, as codes to point it at.
type phoneView struct {
	Name    string
	Role    string
	Minutes int
	Codes   []codeView
}

type codeView struct {
	Link string
	Code template.HTML
}

func (s *server) people(w http.ResponseWriter, r *http.Request) error {
	return s.peoplePage(w, r, http.StatusOK, newSheet(nil), nil)
}

func (s *server) peoplePage(w http.ResponseWriter, r *http.Request, status int, f *sheet, phone *phoneView) error {
	ctx := r.Context()
	v := peopleView{Network: s.Network.IsValid(), Encrypted: s.Encrypted, Links: s.links(), Token: s.tokenIn(ctx), Phone: phone}
	all, err := s.Store.People(ctx)
	if err != nil {
		return err
	}
	sessions, err := s.Store.Sessions(ctx)
	if err != nil {
		return err
	}
	v.Sessions = len(sessions)
	if ended := r.URL.Query().Get("ended"); ended != "" {
		v.Ended = !slices.ContainsFunc(sessions, func(n store.Session) bool { return strconv.FormatInt(n.ID, 10) == ended })
	}
	for _, p := range all {
		one := personView{Person: p}
		for _, n := range sessions {
			if n.Person.ID == p.ID && n.Ends.After(s.Now()) {
				one.Sessions = append(one.Sessions, s.sessionView(n, visitorOf(ctx)))
			}
		}
		v.People = append(v.People, one)
	}
	f.fill(map[string]string{"role": string(people.Viewer)})
	if len(all) == 0 {
		f.fill(map[string]string{"role": string(people.Operator)})
	}
	v.Fields = f.set(
		entry{Name: "name", Label: text("field.name"), Fill: "off"},
		entry{Name: "role", Label: text("field.role"), Long: true, Choices: []option{{Value: string(people.Viewer), Label: text("role.viewer")}, {Value: string(people.Operator), Label: text("role.operator")}}},
		entry{Name: "password", Label: text("field.newpassword"), Hint: text("field.newpassword.hint", people.LeastLetters), Kind: "password", Fill: "new-password"},
	)
	return s.showAs(w, r, status, "people", text("people.title"), v)
}

func (s *server) sessionView(n store.Session, v visitor) sessionView {
	return sessionView{ID: n.ID, Device: n.Device, Address: n.Address, Made: s.at(n.Made.UnixNano()), Seen: s.at(n.Seen.UnixNano()), This: n.ID == v.Session}
}

func (s *server) addPerson(w http.ResponseWriter, r *http.Request) error {
	_, err := s.door.Add(r.Context(), r.PostForm.Get("name"), people.Role(r.PostForm.Get("role")), r.PostForm.Get("password"))
	f := newSheet(url.Values{"name": {r.PostForm.Get("name")}, "role": {r.PostForm.Get("role")}})
	for field, reason := range map[string]error{"name": people.ErrName, "role": people.ErrRole, "password": people.ErrWeak} {
		if errors.Is(err, reason) {
			f.refuse(field, sentence(err.Error()))
			return s.peoplePage(w, r, http.StatusBadRequest, f, nil)
		}
	}
	return s.backToPeople(w, r, err)
}

func (s *server) backToPeople(w http.ResponseWriter, r *http.Request, err error) error {
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

// onPerson does something to the person of an address.
func (s *server) onPerson(w http.ResponseWriter, r *http.Request, do func(id int64) error) error {
	id, err := number(r.PathValue("id"), text("number.person"))
	if err != nil {
		return err
	}
	if _, err := s.Store.Person(r.Context(), id); err != nil {
		return err
	}
	return s.backToPeople(w, r, do(id))
}

func (s *server) removePerson(w http.ResponseWriter, r *http.Request) error {
	return s.onPerson(w, r, func(id int64) error { return s.Store.RemovePerson(r.Context(), id) })
}

func (s *server) setPassword(w http.ResponseWriter, r *http.Request) error {
	return s.onPerson(w, r, func(id int64) error {
		err := s.door.SetPassword(r.Context(), id, r.PostForm.Get("password"))
		if errors.Is(err, people.ErrWeak) {
			return refuse(http.StatusBadRequest, sentence(err.Error()))
		}
		return err
	})
}

func (s *server) signPersonOut(w http.ResponseWriter, r *http.Request) error {
	return s.onPerson(w, r, func(id int64) error { return s.Store.EndSessions(r.Context(), id) })
}

func (s *server) signEverybodyOut(w http.ResponseWriter, r *http.Request) error {
	return s.backToPeople(w, r, s.Store.EndSessions(r.Context(), 0))
}

func (s *server) endSession(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PathValue("id"), text("number.session"))
	if err != nil {
		return err
	}
	if err := s.Store.EndSession(r.Context(), id); err != nil {
		return err
	}
	http.Redirect(w, r, "/people?ended="+strconv.FormatInt(id, 10), http.StatusSeeOther)
	return nil
}

// signPhoneIn shows a link that signs a phone in once, as a code for its
// camera. It is on the answer of the form and nowhere else.
func (s *server) signPhoneIn(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PathValue("id"), text("number.person"))
	if err != nil {
		return err
	}
	p, err := s.Store.Person(r.Context(), id)
	if err != nil {
		return err
	}
	links := s.links()
	if len(links) == 0 {
		return refuse(http.StatusConflict, text("refused.nonetwork"))
	}
	secret, err := s.door.Pass(r.Context(), p.ID)
	if err != nil {
		return err
	}
	v := phoneView{Name: p.Name, Role: p.Role, Minutes: int(people.PassFor.Minutes())}
	for _, l := range links[:min(len(links), mostCodes)] {
		link := l + "/in/" + secret
		code, err := label.QR(link)
		if err != nil {
			return err
		}
		v.Codes = append(v.Codes, codeView{strings.TrimSuffix(link, "/in/"+secret), code})
	}
	return s.peoplePage(w, r, http.StatusOK, newSheet(nil), &v)
}

// mostCodes is how many addresses get a code: nobody points a phone at more.
const mostCodes = 3
