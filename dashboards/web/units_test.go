package web_test

import (
	"html"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
)

// asked are addresses with a question in them, which no link leads to.
var asked = []string{
	"/plan/steady?stuck-mass=3.2t&surface=gravel&mire=wheel&rig=single+strap&winch=4t",
	"/plan/force?rig=single+strap&force=20kN..35kN",
	"/plan/force?rig=single+strap",
	"/plan/kinetic?rig=single+strap&speed=8km/h&ground=wet+sand&elongation=20%25",
	"/multipliers?assume=3", "/multipliers/next?ground=silt", "/multipliers/next?rig=single+strap&ground=silt",
}

var link = regexp.MustCompile(`href="(/[^"]*)`)

// alike is what addresses have in common that are of the same page.
func alike(target string) string { return regexp.MustCompile(`[0-9]+`).ReplaceAllString(target, "0") }

// everywhere gives the addresses that a person can come to, from the first page
// and from the questions, with what they answer: three of each page at most.
func (f *fixture) everywhere(t *testing.T, sees func(*http.Request)) map[string]string {
	t.Helper()
	found, seen := map[string]string{}, map[string]int{}
	open := append([]string{"/"}, asked...)
	for len(open) > 0 {
		target := open[0]
		open = open[1:]
		if _, done := found[target]; done || seen[alike(target)] == 3 {
			continue
		}
		seen[alike(target)]++
		res := f.ask("GET", target, nil, sees)
		page := read(t, res)
		if res.StatusCode == http.StatusForbidden && strings.Contains(page, "is a viewer and may change nothing") {
			continue
		}
		require.Equal(t, http.StatusOK, res.StatusCode, "%s: %s", target, page)
		media := res.Header.Get("Content-Type")
		if strings.HasPrefix(media, "image/") {
			continue
		}
		found[target] = page
		if !strings.HasPrefix(media, "text/html") {
			continue
		}
		for _, m := range link.FindAllStringSubmatch(page, -1) {
			if to, _, _ := strings.Cut(html.UnescapeString(m[1]), "#"); !strings.HasPrefix(to, "/assets/") {
				open = append(open, to)
			}
		}
	}
	return found
}

// inForce matches a number with a unit of force; a stiffness in kN/m is none. A
// t alone is not looked for: masses are told in it whatever unit forces have.
func inForce(units ...unit.ForceUnit) *regexp.Regexp {
	var names []string
	for _, u := range units {
		names = append(names, string(u))
	}
	return regexp.MustCompile(`[0-9]\s?(` + strings.Join(names, "|") + `)(?:[^a-zA-Z/·]|$)`)
}

// TestOneUnitEverywhere walks through all pages in each unit of force: no
// force is told in another, also not in a hint beside a field.
func TestOneUnitEverywhere(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	f.calibrated(t)
	// Where kN is chosen, a few newtons are told in N: an error of 0.0015 kN is
	// not what anybody reads off a certificate.
	all := []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.KilogramF, unit.PoundF}
	for _, u := range []unit.ForceUnit{unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF} {
		sees := func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "unit", Value: string(u)}) }
		others := inForce(slices.DeleteFunc(slices.Clone(all), func(o unit.ForceUnit) bool { return o == u || o == unit.Newton && u == unit.Kilonewton })...)
		told := 0
		for target, page := range f.everywhere(t, sees) {
			if machine(target) {
				continue
			}
			page = strings.Join(strings.Fields(visible(hinted(page))), " ")
			page = strings.ReplaceAll(page, "the weight of one tonne: 9.81 kN", "") // what a tonne-force is
			for _, at := range others.FindAllStringIndex(page, -1) {
				assert.Fail(t, "another unit", "%s in %s: …%s…", target, u, page[max(0, at[0]-70):min(len(page), at[1]+20)])
			}
			told += len(inForce(u).FindAllString(page, -1))
		}
		assert.Greater(t, told, 50, "forces in %s", u)
	}
}

// machine says whether an address is for programs: what it gives is in newtons
// and says so in its own names. The guide is prose with its own examples.
func machine(target string) bool {
	path, _, _ := strings.Cut(target, "?")
	return strings.HasPrefix(path, "/api/") || strings.HasPrefix(path, "/guide") || strings.HasPrefix(path, "/files/") ||
		regexp.MustCompile(`\.(csv|json|parquet|pdf|png)$`).MatchString(path) || strings.HasSuffix(path, "/text")
}

// hinted brings what stands in a field before anything is typed, and the words
// of drawings for those who do not see them, into the text.
func hinted(page string) string {
	return regexp.MustCompile(`\s(?:placeholder|aria-label|data-(?:label|above|unit|limit))="([^"]*)"`).ReplaceAllString(page, `> $1 <i`)
}
