package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"
)

// editing is a form of something that two people may change at once.
type editing struct {
	page, sends string // the addresses that show the form and that it is sent to
	begins      string // where the form begins in its page
	what        string // in the journal
	id          int64
	mine, other [2]string // a field and what is typed into it, by one and by the other
	says        string    // what the one is told of the other's change
	also        url.Values
}

func editings(t *testing.T, f *fixture) map[string]editing {
	t.Helper()
	gvm := unit.Mass(3100)
	v, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Mole", GVM: &gvm}})
	require.NoError(t, err)
	d, err := f.store.SaveDay(t.Context(), store.Day{Date: "2026-03-14", Name: "practice", Ready: []string{"area"}})
	require.NoError(t, err)
	day := fmt.Sprintf("/days/2026-03-14/day/%d", d.ID)
	strap, one := f.strapPath(t), fmt.Sprintf("/pulls/%d", f.pull.ID)
	truck, rigged := fmt.Sprintf("/vehicles/%d", v.ID), fmt.Sprintf("/rigs/%d", f.rig.ID)
	at := func(path string) string { return `action="` + path }
	return map[string]editing{
		"item": {strap + "/edit", strap + "/edit", at(strap + "/edit"), "item", f.strap(t).ID, [2]string{"maker", "ropery"}, [2]string{"serial", "77"},
			"Serial number It was nothing , it is now 77 , you have nothing . Theirs stands", nil},
		"vehicle": {truck + "/edit", truck + "/edit", at(truck + "/edit"), "vehicle", v.ID, [2]string{"weighed", "4.1 t"}, [2]string{"gvm", "4400 kg"},
			"Gross vehicle mass It was 3100 kg , it is now 4400 kg , you have 3100 kg . Theirs stands", nil},
		"rig": {rigged + "/edit", rigged + "/edit", at(rigged + "/edit"), "rig", f.rig.ID, [2]string{"notes", "for the bar"}, [2]string{"stuck", "Mole"},
			"Stuck end It was Otter , it is now Mole , you have Otter . Theirs stands", url.Values{"do": {"keep"}}},
		"pull": {one, one, at(one + "#known"), "pull", f.pull.ID, [2]string{"notes", "hard"}, [2]string{"speed", "8 km/h"},
			"Speed It was nothing , it is now 8 km/h , you have nothing . Theirs stands", nil},
		"limits": {one, one + "/limits", at(one + "/limits"), "pull", f.pull.ID, [2]string{"start", "10:00:04.100"}, [2]string{"end", "10:00:04.900"},
			"End It was 10:00:05.000 , it is now 10:00:04.900 , you have 10:00:05.000 . Theirs stands", url.Values{"do": {"keep"}}},
		"day": {day, day, at(day + `"`), "day", d.ID, [2]string{"place", "river bar"}, [2]string{"ground", "wet sand"},
			"Ground It was nothing , it is now wet sand , you have nothing . Theirs stands", nil},
		"line": {"/line?cell=River-1", "/line/setup", at("/line/setup"), "setup", f.cell.ID, [2]string{"ground", "silt"}, [2]string{"rig", fmt.Sprint(f.rig.ID)},
			"Rig from now on It was nothing , it is now single strap , you have nothing . Theirs stands", nil},
	}
}

// TestNobodyLosesWhatTheyTyped: a form that was overtaken comes back with what
// was typed and what the other one changed, field by field. Sent as it came
// back, it keeps both; where both typed into one field it holds what was typed
// here, until somebody says so.
func TestNobodyLosesWhatTheyTyped(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for name, e := range editings(t, f) {
		t.Run(name, func(t *testing.T) {
			begun := sheetAt(t, f.page(t, e.page), e.begins)
			typed := func(form url.Values, pairs ...[2]string) url.Values {
				out := url.Values{}
				for _, m := range []url.Values{form, e.also} {
					for k, v := range m {
						out[k] = v
					}
				}
				for _, p := range pairs {
					out.Set(p[0], p[1])
				}
				return out
			}
			res, page := send(t, f, e.sends, typed(begun, e.other))
			require.Equal(t, http.StatusSeeOther, res.StatusCode, page)

			res, page = send(t, f, e.sends, typed(begun, e.mine))
			require.Equal(t, http.StatusConflict, res.StatusCode, page)
			assert.Contains(t, spoken(page), "Somebody else changed this while you were at it")
			assert.Contains(t, spoken(page), e.says)
			assert.Contains(t, spoken(page), "Changed by ")
			again := sheetAt(t, page, e.begins)
			assert.Equal(t, e.mine[1], again.Get(e.mine[0]), "what was typed")
			assert.Equal(t, e.other[1], again.Get(e.other[0]), "what the other one typed")
			assert.NotEqual(t, begun.Get("version"), again.Get("version"))

			res, page = send(t, f, e.sends, typed(again))
			require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
			kept := sheetAt(t, f.page(t, e.page), e.begins)
			for _, want := range [][2]string{e.mine, e.other} {
				assert.Equal(t, want[1], strings.Replace(kept.Get(want[0]), "4100 kg", "4.1 t", 1))
			}

			if name == "line" {
				return // its fields are two, both of which were used
			}
			both := [2]string{e.mine[0], strings.Replace(e.mine[1], "4.1", "4.3", 1) + "x"}
			both[1] = strings.TrimSuffix(both[1], map[bool]string{true: "x"}[name == "vehicle"])
			if name == "limits" {
				both[1] = "10:00:04.200"
			}
			res, page = send(t, f, e.sends, typed(again, both))
			require.Equal(t, http.StatusConflict, res.StatusCode, "sent a second time from the page before")
			overtaken := sheetAt(t, page, e.begins)
			assert.Equal(t, both[1], overtaken.Get(both[0]))
			assert.Contains(t, spoken(page), "Yours stands in the form below.")
			res, page = send(t, f, e.sends, typed(overtaken))
			require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
		})
	}
	require.NoError(t, f.store.Integrity(t.Context()))
}

// TestTheTextOfARigIsNotLost either: it holds both changes when it comes back.
func TestTheTextOfARigIsNotLost(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := fmt.Sprintf("/rigs/%d/text", f.rig.ID)
	begins := `action="` + path
	begun := sheetAt(t, f.page(t, path), begins)
	d := f.rig
	d.Value.Notes = "theirs"
	_, err := f.store.SaveRig(t.Context(), d)
	require.NoError(t, err)
	begun.Set("rig", strings.Replace(begun.Get("rig"), `"single strap"`, `"long strap"`, 1))
	begun.Set("do", "keep")
	res, page := send(t, f, path, begun)
	require.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, spoken(page), "Notes It was nothing , it is now theirs , you have nothing . Theirs stands")
	again := sheetAt(t, page, begins)
	again.Set("do", "keep")
	res, page = send(t, f, path, again)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	now, err := f.store.Rig(t.Context(), f.rig.ID)
	require.NoError(t, err)
	assert.Equal(t, []string{"long strap", "theirs"}, []string{now.Value.Name, now.Value.Notes})
	assert.Equal(t, f.rig.Value.Chain, now.Value.Chain)
}

// TestWhatIsInNoFieldIsNoClash: an inspection that was added meanwhile keeps
// nobody from keeping a form, and stays.
func TestWhatIsInNoFieldIsNoClash(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := f.strapPath(t)
	begun := sheetAt(t, f.page(t, path+"/edit"), `action="`+path+`/edit"`)
	res, page := send(t, f, path+"/quarantine", url.Values{"quarantine-reason": {"cut"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	begun.Set("maker", "ropery")
	res, page = send(t, f, path+"/edit", begun)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	now := f.strap(t).Value
	assert.Equal(t, "ropery", now.Maker)
	require.NotNil(t, now.Quarantined)
}

// TestWhatWasRemovedMeanwhile: the form says so and holds what was typed; after
// the removal is undone it is kept.
func TestWhatWasRemovedMeanwhile(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, d := f.strapPath(t), f.strap(t)
	begins := `action="` + path + `/edit"`
	begun := sheetAt(t, f.page(t, path+"/edit"), begins)
	require.NoError(t, f.store.Remove(t.Context(), "item", d.ID, 0))
	begun.Set("maker", "ropery")
	res, page := send(t, f, path+"/edit", begun)
	require.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, spoken(page), "Somebody else removed this while you were at it")
	again := sheetAt(t, page, begins)
	assert.Equal(t, "ropery", again.Get("maker"))
	undoLatest(t, f, path, "item", d.ID)
	res, page = send(t, f, path+"/edit", again)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Equal(t, "ropery", f.strap(t).Value.Maker)
}

// TestTwoNewOnesOfOneName: of two who add an item of one name at once, one is
// told, and nothing is written over.
func TestTwoNewOnesOfOneName(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for what, form := range map[string]url.Values{
		"gear":     {"name": {"sling"}, "kind": {"tree strap"}, "r1-value": {"50 kN"}, "r1-basis": {"MBS"}},
		"vehicles": {"name": {"Mole"}},
	} {
		form.Set("token", f.token(t))
		var all sync.WaitGroup
		codes := make([]int, 12)
		for i := range codes {
			mine := url.Values{"notes": {fmt.Sprint("by ", i)}}
			for k, v := range form {
				mine[k] = v
			}
			all.Go(func() { codes[i] = f.ask("POST", "/"+what+"/new", mine, nil).StatusCode })
		}
		all.Wait()
		count := map[int]int{}
		for _, c := range codes {
			count[c]++
		}
		assert.Equal(t, map[int]int{http.StatusSeeOther: 1, http.StatusUnprocessableEntity: 11}, count, what)
	}
}

// TestADayIsPutRight: its name and place are corrected, undone, and the day is
// removed and brought back; its ticks stay.
func TestADayIsPutRight(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d, err := f.store.SaveDay(t.Context(), store.Day{Date: "2026-03-14", Name: "pratice", Place: "river bar", Ready: []string{"area"}})
	require.NoError(t, err)
	path := fmt.Sprintf("/days/2026-03-14/day/%d", d.ID)
	assert.Contains(t, spoken(f.page(t, "/days/2026-03-14")), "Put pratice right")
	form := url.Values{"version": {"1"}, "name": {""}, "place": {"river bar"}}
	res, page := send(t, f, path, form)
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, page)
	form.Set("name", "practice")
	res, page = send(t, f, path, form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	now, err := f.store.Day(t.Context(), d.ID)
	require.NoError(t, err)
	assert.Equal(t, []any{"practice", "river bar", []string{"area"}}, []any{now.Name, now.Place, now.Ready})
	assert.Contains(t, spoken(f.page(t, path)), "name was pratice, now practice")
	undoLatest(t, f, path, "day", d.ID)
	assert.Contains(t, f.page(t, "/days"), "pratice")
	changes, err := f.store.Journal(t.Context(), "day", d.ID, 0)
	require.NoError(t, err)
	res, page = send(t, f, path+"/undo", url.Values{"change": {fmt.Sprint(changes[1].ID)}, "version": {"3"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	res, page = send(t, f, path+"/remove", url.Values{"version": {"3"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.NotContains(t, f.page(t, "/days"), "pratice")
	assert.Contains(t, spoken(f.page(t, path)), "It was removed from the register on ")
	undoLatest(t, f, path, "day", d.ID)
	assert.Contains(t, f.page(t, "/days"), "pratice")
	res = f.ask("GET", strings.Replace(path, "03-14", "03-15", 1), nil, nil)
	assert.Equal(t, http.StatusNotFound, res.StatusCode, "under another date")
}

// TestTicksOfTwoCount: two who tick lines of one list at once.
func TestTicksOfTwoCount(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	day, err := f.store.SaveDay(t.Context(), store.Day{Date: "2026-03-14", Name: "practice"})
	require.NoError(t, err)
	tick := func(lines ...string) {
		res, page := send(t, f, "/days/2026-03-14/ready", url.Values{"day": {fmt.Sprint(day.ID)}, "version": {fmt.Sprint(day.Version)}, "ready": lines})
		require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	}
	tick("area", "damper")
	tick("people") // of the list as it was before
	now, err := f.store.Day(t.Context(), day.ID)
	require.NoError(t, err)
	assert.Equal(t, []string{"area", "people", "damper"}, now.Ready)
	shown := now
	day = shown
	tick("people", "damper")
	tick("area", "people", "damper", "cell")
	now, err = f.store.Day(t.Context(), day.ID)
	require.NoError(t, err)
	assert.Equal(t, []string{"people", "damper", "cell"}, now.Ready, "what one took back is not ticked again by a form that only left it")
}

// person uses the pages over a network, with what the browser keeps.
type person struct {
	t      *testing.T
	client http.Client
	base   string
	token  string
}

func (p *person) do(method, path string, form url.Values) (int, string) {
	var body io.Reader
	if form != nil {
		form.Set("token", p.token)
		body = strings.NewReader(form.Encode())
	}
	r, err := http.NewRequestWithContext(p.t.Context(), method, p.base+path, body)
	assert.NoError(p.t, err)
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", p.base)
	}
	res, err := p.client.Do(r)
	if !assert.NoError(p.t, err) {
		return 0, ""
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	assert.NoError(p.t, err)
	return res.StatusCode, string(text)
}

// TestManyEditAtOnce: people on connections of their own edit the same item,
// vehicle, rig, pull and line at once, each typing into a field of their own and
// all into the notes, and send on what comes back to them. Every edit that was
// accepted is in the history with the value that it was accepted with, each
// stands on the one before, none is lost, and in the end everybody's own field
// holds what they typed last.
func TestManyEditAtOnce(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	pages, err := web.New(web.Config{Store: f.store, Zone: time.UTC, Now: func() time.Time { return start.Add(time.Minute) }})
	require.NoError(t, err)
	server := httptest.NewServer(pages)
	defer server.Close()
	all := editings(t, f)
	own := map[string][]string{
		"item": {"maker", "serial", "where"}, "vehicle": {"weighed", "gvm", "wheelbase"}, "rig": {"pulling", "stuck", "id"}, "pull": {"ground", "speed", "slack"}, "line": {"ground"}, "day": {"place", "ground"},
	}
	value := func(field string, who, round int) string {
		switch n := fmt.Sprint(10*round + who + 1); field {
		case "weighed", "gvm":
			return n + " kg"
		case "wheelbase", "slack":
			return n + " m"
		case "speed":
			return n + " km/h"
		default:
			return field + " " + n
		}
	}
	const rounds = 4
	accepted := map[string][]string{} // notes, in the order of acceptance
	var mu sync.Mutex
	var people sync.WaitGroup
	for name, fields := range own {
		e := all[name]
		for who, mine := range fields {
			people.Go(func() {
				jar, _ := cookiejar.New(nil)
				p := &person{t: t, base: server.URL, client: http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
				_, page := p.do("GET", "/", nil)
				_, rest, _ := strings.Cut(page, `name="token" value="`)
				p.token, _, _ = strings.Cut(rest, `"`)
				for round := range rounds {
					_, page := p.do("GET", e.page, nil)
					for tries := 0; ; tries++ {
						form := sheetAt(t, page, e.begins)
						for k, v := range e.also {
							form[k] = v
						}
						form.Set(mine, value(mine, who, round))
						note := fmt.Sprintf("%s %d.%d.%d", name, who, round, tries)
						if form.Has("notes") {
							form.Set("notes", note)
						}
						code, said := p.do("POST", e.sends, form)
						if code == http.StatusSeeOther {
							mu.Lock()
							accepted[name] = append(accepted[name], note)
							mu.Unlock()
							break
						}
						if !assert.Equal(t, http.StatusConflict, code, said) || !assert.Less(t, tries, 200) {
							return
						}
						page = said
					}
				}
			})
		}
	}
	people.Wait()
	for name, fields := range own {
		e := all[name]
		kept := sheetAt(t, f.page(t, e.page), e.begins)
		for who, mine := range fields {
			assert.Equal(t, value(mine, who, rounds-1), kept.Get(mine), "%s: %s", name, mine)
		}
		history(t, f.store, e, name, accepted[name])
	}
	require.NoError(t, f.store.Integrity(t.Context()))
}

// history checks the journal of a document against what was accepted.
func history(t *testing.T, s *store.Store, e editing, name string, accepted []string) {
	t.Helper()
	changes, err := s.Changes(context.Background(), store.JournalFilter{What: e.what, Ref: e.id})
	require.NoError(t, err)
	var notes []string
	for i, c := range changes {
		if i > 0 {
			require.JSONEq(t, string(c.After), string(changes[i-1].Before), "%s: each change stands on the one before", name)
		}
		var doc struct{ Notes string }
		require.NoError(t, json.Unmarshal(c.After, &doc))
		if strings.HasPrefix(doc.Notes, name+" ") {
			notes = append(notes, doc.Notes)
		}
	}
	if name != "line" && name != "day" { // they have no notes to tell edits by
		require.ElementsMatch(t, accepted, notes, name)
	}
}
