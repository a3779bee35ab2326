package web

import (
	"net/http"
	"strings"
	"unicode"

	"tautlog/calc/unit"
)

// choice is what a person chose for all pages; it is kept in cookies.
type choice struct {
	Unit unit.ForceUnit
	Look string // "day", "night", or "" to follow the system
}

var shownUnits = []unit.ForceUnit{unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF}

func chosen(r *http.Request) choice {
	c := choice{Unit: unit.DefaultShown}
	if k, err := r.Cookie("unit"); err == nil {
		c.Unit = knownUnit(k.Value)
	}
	if k, err := r.Cookie("look"); err == nil {
		c.Look = knownLook(k.Value)
	}
	return c
}

func knownUnit(s string) unit.ForceUnit {
	for _, u := range shownUnits {
		if string(u) == s {
			return u
		}
	}
	return unit.DefaultShown
}

func knownLook(s string) string {
	if s == "day" || s == "night" {
		return s
	}
	return ""
}

// choose keeps a choice and goes back to the page it was made on.
func (s *server) choose(w http.ResponseWriter, r *http.Request) error {
	keep := func(name, value string) {
		http.SetCookie(w, &http.Cookie{
			Name: name, Value: value, Path: "/", MaxAge: 10 * 365 * 24 * 3600,
			HttpOnly: true, SameSite: http.SameSiteStrictMode,
		})
	}
	if r.PostForm.Has("unit") {
		keep("unit", string(knownUnit(r.PostForm.Get("unit"))))
	}
	if r.PostForm.Has("look") {
		keep("look", knownLook(r.PostForm.Get("look")))
	}
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}

// ownPath is a path on this server, or the first page. Browsers drop control
// characters from an address, and take \ for /: either may hide the // before
// the name of another server.
func ownPath(p string) string {
	if !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.Contains(p, `\`) || strings.ContainsFunc(p, unicode.IsControl) {
		return "/"
	}
	return p
}
