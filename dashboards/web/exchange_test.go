package web_test

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"net/http/httptest"
	"net/url"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/web"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/registerfile"
	"tautlog/ingest/store"
)

// newEmptyFixture is the pages over a store that holds nothing.
func newEmptyFixture(t *testing.T) *fixture {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	pages, err := web.New(web.Config{Store: s, Zone: time.UTC, Now: func() time.Time { return start }})
	require.NoError(t, err)
	return &fixture{store: s, pages: pages}
}

// hidden is what a hidden field of a page sends.
func hidden(t *testing.T, page, name string) string {
	t.Helper()
	m := regexp.MustCompile(`<input type="hidden" name="` + name + `" value="([^"]*)"`).FindStringSubmatch(page)
	require.NotNil(t, m, name)
	return html.UnescapeString(m[1])
}

// file is what an address gives as a file.
func (f *fixture) file(t *testing.T, target string) string {
	t.Helper()
	res := f.ask("GET", target, nil, nil)
	require.Equal(t, 200, res.StatusCode, target)
	require.Contains(t, res.Header.Get("Content-Disposition"), "attachment", target)
	return read(t, res)
}

// TestARegisterGoesOutAndComesInTheSame takes each file out of one store and
// brings it into an empty one: what comes out there is the same to the byte.
func TestARegisterGoesOutAndComesInTheSame(t *testing.T) {
	t.Parallel()
	from := newFixture(t)
	item := from.strap(t)
	item.Value.Notes = "two lines,\nand a \"word\""
	_, err := from.store.SaveItem(t.Context(), item)
	require.NoError(t, err)
	_, err = from.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Heron", GVM: new(unit.Mass(3100))}})
	require.NoError(t, err)
	for _, file := range []string{"gear.csv", "vehicles.csv", "rigs.csv", "register.json"} {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			to := newEmptyFixture(t)
			sent := from.file(t, "/files/"+file)
			part := strings.TrimSuffix(file, ".csv")
			if file == "register.json" {
				part = "gear" // a JSON file says itself what it holds
			}
			before := to.dump(t)
			res, page := uploaded(t, to, "/files/register", "file", map[string]string{"part": part, "do": "try"}, map[string][]byte{file: []byte(sent)})
			require.Equal(t, 200, res.StatusCode, spoken(page))
			require.Equal(t, before, to.dump(t), "a look changes nothing")
			res, page = send(t, to, "/files/register", url.Values{"part": {part}, "do": {"write"}, "who": {"Mira"}, "text": {hidden(t, page, "text")}})
			require.Equal(t, 200, res.StatusCode, spoken(page))
			assert.Contains(t, spoken(page), "Written into the register")
			assert.Equal(t, sent, to.file(t, "/files/"+file))
		})
	}
}

// TestWhatAFileWouldChangeIsToldFirst looks, writes, looks again.
func TestWhatAFileWouldChangeIsToldFirst(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	table := strings.Replace(f.file(t, "/files/gear.csv"), "blue strap 9 m", "long blue strap", 1)
	_, page := send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"try"}, "text": {table}})
	assert.Contains(t, spoken(page), "0 new, 1 changed")
	assert.Contains(t, spoken(page), "Gear b9 , changed Name was blue strap 9 m, now long blue strap.")
	assert.Equal(t, "blue strap 9 m", f.strap(t).Value.Name)

	send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"write"}, "who": {"Mira"}, "text": {table}})
	assert.Equal(t, "long blue strap", f.strap(t).Value.Name)
	assert.Contains(t, spoken(f.page(t, f.strapPath(t))), "Mira")

	_, page = send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"try"}, "text": {table}})
	assert.Contains(t, spoken(page), "There is nothing to write")
	assert.NotContains(t, page, `value="write"`)
}

// TestEachDifferenceIsToldInWords brings in items that differ in what is no plain
// value: ratings, rules, inspections, how a point is held.
func TestEachDifferenceIsToldInWords(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	strap := f.strap(t).Value
	strap.Ratings[0].Value, strap.Ratings[0].Stamp = 70e3, "MBS 7 t"
	strap.RetireRule = &gear.RetireRule{MaxPulls: new(60)}
	strap.Quarantined = &gear.Withdrawal{Date: "2026-03-14", Reason: "cut."}
	strap.Inspections = append(strap.Inspections, gear.Inspection{Date: "2026-03-14", Result: gear.Watch})
	strap.Notes = strings.Repeat("long ", 30)
	point, err := f.store.ItemByKey(t.Context(), "p1")
	require.NoError(t, err)
	four, proof := point.Value, gear.ProofPull{Level: 30e3}
	four.Fixing = &gear.Fixing{Member: "chassis rail", Bolts: []gear.Bolts{{Count: 4, Size: "M12"}}, Proofs: []gear.ProofPull{proof}}
	var b bytes.Buffer
	require.NoError(t, registerfile.Encode(&b, registerfile.Register{Items: []gear.Item{strap, four}}))
	_, page := send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"try"}, "text": {b.String()}})
	for _, say := range []string{
		"What it is rated for was MBS 80 kN, any direction, now MBS 70 kN, any direction, stamped “MBS 7 t”.",
		"The owner’s rule was none is recorded, now after 60 pulls.",
		"Put in quarantine: cut.", "Inspected on 14 March 2026, found in order, something to watch.", "Notes added.",
		"Held to was not known, now chassis rail.", "Bolts, group 1: Thread was not known, now M12.", "Proof pull to 30 kN added.",
	} {
		assert.Contains(t, spoken(page), say)
	}
	send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"write"}, "text": {b.String()}})
	assert.Contains(t, spoken(f.page(t, f.strapPath(t))), "; put in quarantine: cut; what it is rated for was MBS 80 kN", "the journal says the same")
}

// TestEveryKeyOfADocumentHasWords: the journal tells what was changed by the
// words of its key.
func TestEveryKeyOfADocumentHasWords(t *testing.T) {
	t.Parallel()
	for _, doc := range []any{gear.Item{}, gear.Vehicle{}, rig.Rig{}, store.Day{}} {
		for _, v := range reflect.VisibleFields(reflect.TypeOf(doc)) {
			if key, _, _ := strings.Cut(v.Tag.Get("json"), ","); key != "" && key != "-" {
				assert.True(t, words.Known("key."+key), "%T: %s", doc, key)
			}
		}
	}
}

// TestFilesThatCannotBeTakenIn finds the fault told beside the field with its
// line, and nothing changed.
func TestFilesThatCannotBeTakenIn(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for name, c := range map[string]struct{ part, text, says string }{
		"nothing":            {"gear", "  \n", "Choose a file"},
		"no such column":     {"gear", "name,kind,colour\na,recovery strap,blue\n", "line 1"},
		"no such kind":       {"gear", "name,kind\na,recovery strap\nb,thing\n", "line 3"},
		"a name twice":       {"gear", "name,kind\na,recovery strap\na,recovery strap\n", "line 3"},
		"JSON that breaks":   {"gear", `{"items": [{"name": "a"`, "Nothing was changed"},
		"a part there isn't": {"people", "name\na\n", "no part of a register"},
	} {
		t.Run(name, func(t *testing.T) {
			before := f.dump(t)
			for _, do := range []string{"try", "write"} {
				res, page := send(t, f, "/files/register", url.Values{"part": {c.part}, "do": {do}, "text": {c.text}})
				assert.Equal(t, 422, res.StatusCode)
				assert.Contains(t, spoken(page), c.says)
				assert.Contains(t, page, `role="alert"`)
			}
			assert.Equal(t, before, f.dump(t))
		})
	}
	for _, target := range []string{"/files/people.csv", "/files/register.csv", "/files/gear.json", "/files/gear"} {
		assert.Equal(t, 404, f.ask("GET", target, nil, nil).StatusCode, target)
	}
}

// TestALongRegisterIsToldInPart brings in more items than are told one by one.
func TestALongRegisterIsToldInPart(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	var reg registerfile.Register
	for i := range 1000 {
		reg.Items = append(reg.Items, gear.Item{ID: fmt.Sprintf("n%04d", i), Name: "strap", Kind: gear.RecoveryStrap})
	}
	r, w := io.Pipe()
	go func() { _ = w.CloseWithError(reg.WritePart(w, registerfile.Gear)) }()
	table, err := io.ReadAll(r)
	require.NoError(t, err)
	_, page := uploaded(t, f, "/files/register", "file", map[string]string{"part": "gear", "do": "try"}, map[string][]byte{"gear.csv": table})
	assert.Contains(t, spoken(page), "1000 new")
	assert.Contains(t, spoken(page), "and 800 more")
	_, page = send(t, f, "/files/register", url.Values{"part": {"gear"}, "do": {"write"}, "text": {hidden(t, page, "text")}})
	assert.Contains(t, spoken(page), "1000 new")
	_, err = f.store.ItemByKey(t.Context(), "n0999")
	require.NoError(t, err)
}

// TestTheLogGoesOut holds the log as a file against the one of its only day.
func TestTheLogGoesOut(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	date := start.UTC().Format("2006-01-02")
	for _, form := range []string{"csv", "json"} {
		assert.Equal(t, f.file(t, "/days/"+date+"/pulls."+form), f.file(t, "/files/pulls."+form))
	}
	assert.True(t, strings.HasPrefix(f.file(t, "/files/pulls.parquet"), "PAR1"))
}

// TestTheReadingsOfADayGoOut reads the file back: every reading, at its time,
// but those that the cell called void.
func TestTheReadingsOfADayGoOut(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	later := start.Add(time.Hour).UnixNano()
	require.NoError(t, f.store.Append(t.Context(), []store.Run{{Cell: f.cell.ID, Start: later, Step: 1e6, Raw: []int64{7, 8, 9}, Marks: []trace.Mark{0, trace.Invalid, trace.Overload}}}))
	date := start.UTC().Format(time.DateOnly)
	want := pulse()
	csv := strings.Split(strings.TrimSpace(f.file(t, "/days/"+date+"/readings.csv?cell=River-1")), "\n")
	require.Len(t, csv, 1+len(want)+2)
	assert.Equal(t, "time,force_N,raw,mark", csv[0])
	for i, raw := range want {
		at := start.Add(time.Duration(i) * time.Millisecond).UTC().Format(time.RFC3339Nano)
		require.Equal(t, fmt.Sprintf("%s,%d,%d,", at, raw, raw), csv[1+i])
	}
	assert.Equal(t, []string{"7", "9"}, []string{strings.Split(csv[len(csv)-2], ",")[2], strings.Split(csv[len(csv)-1], ",")[2]})
	assert.True(t, strings.HasSuffix(csv[len(csv)-1], ",overload"))
	assert.True(t, strings.HasPrefix(f.file(t, "/days/"+date+"/readings.parquet?cell=River-1"), "PAR1"))
	assert.Contains(t, f.page(t, "/days/"+date+"/trace"), "/days/"+date+"/readings.csv?cell=River-1")
	for _, target := range []string{"/days/2020-01-01/readings.csv?cell=River-1", "/days/x/readings.csv?cell=River-1", "/days/" + date + "/readings.csv?cell=none", "/days/" + date + "/readings.csv", "/days/" + date + "/readings.json?cell=River-1"} {
		assert.Equal(t, 404, f.ask("GET", target, nil, nil).StatusCode, target)
	}
}

// TestTheReadingsOfAPullGoOut: the pull, with two seconds of the line before and
// behind it, is the same pull where another program reads the file.
func TestTheReadingsOfAPullGoOut(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	file := f.file(t, one+"/readings.csv")
	csv := strings.Split(strings.TrimSpace(file), "\n")
	want := pulse()[2000:7001]
	require.Len(t, csv, 1+len(want))
	for i, raw := range want {
		at := start.Add(time.Duration(2000+i) * time.Millisecond).UTC().Format(time.RFC3339Nano)
		require.Equal(t, fmt.Sprintf("%s,%d,%d,", at, raw, raw), csv[1+i])
	}
	assert.True(t, strings.HasPrefix(f.file(t, one+"/readings.parquet"), "PAR1"))
	page := f.page(t, one)
	assert.Contains(t, page, one+"/readings.csv")
	assert.Contains(t, page, one+"/readings.parquet")

	elsewhere, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: pull.Pull{Start: 1e18, End: 1e18 + 1e9, Kind: pull.Kinetic}, Settled: true})
	require.NoError(t, err)
	res := f.ask("GET", fmt.Sprintf("/pulls/%d/readings.csv", elsewhere.ID), nil, nil)
	assert.Contains(t, spoken(read(t, res)), "are not kept here")
	assert.Equal(t, 404, res.StatusCode)
	assert.NotContains(t, f.page(t, fmt.Sprintf("/pulls/%d", elsewhere.ID)), "readings.csv")
	for _, none := range []string{"/pulls/999/readings.csv", one + "/readings.json", "/pulls/x/readings.csv"} {
		assert.GreaterOrEqual(t, f.ask("GET", none, nil, nil).StatusCode, 400, none)
	}
}

// TestFilesInBrowser pastes a changed register, looks, and writes it: a note of
// two lines comes through as it was typed.
func TestFilesInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	t.Cleanup(srv.Close)
	b.Open(srv.URL + "/files")
	webtest.Eval[bool](b, `(() => { document.querySelector("#text").value = 'id,name,kind,notes\nb9,long strap,recovery strap,"first line\nsecond line"\n'; return true; })()`)
	b.Click(`button[value="try"]`)
	b.Await(`document.querySelector("#brings") !== null`)
	assert.Contains(t, b.Text("#brings"), "0 new, 1 changed, 0 the same")
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Shoot("brings-phone")
	b.Click(`button[value="write"]`)
	b.Await(`document.querySelector('button[value="write"]') === null`)
	assert.Contains(t, b.Text("#brings"), "Written into the register")
	assert.Equal(t, "first line\nsecond line", f.strap(t).Value.Notes)
	assert.Empty(t, b.Errors())
}
