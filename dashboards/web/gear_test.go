package web_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// strap is the blue strap of the fixture as the register has it.
func (f *fixture) strap(t *testing.T) store.Document[gear.Item] {
	t.Helper()
	d, err := f.store.ItemByKey(t.Context(), "b9")
	require.NoError(t, err)
	return d
}

func (f *fixture) strapPath(t *testing.T) string { return fmt.Sprintf("/gear/%d", f.strap(t).ID) }

// lookedOver inspects the shackle of the fixture that carried more than it is
// rated for, so that nothing in the register asks for a look.
func (f *fixture) lookedOver(t *testing.T) {
	t.Helper()
	d, err := f.store.ItemByKey(t.Context(), "s13")
	require.NoError(t, err)
	d.Value.Inspections = []gear.Inspection{{Date: "2026-03-14", Result: gear.InOrder}}
	_, err = f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
}

// spoken is a page as it is read.
func spoken(page string) string { return strings.Join(strings.Fields(visible(page)), " ") }

// send fills in a form of a page and sends it.
func send(t *testing.T, f *fixture, path string, change url.Values) (*http.Response, string) {
	t.Helper()
	form := url.Values{"token": {f.token(t)}}
	for k, v := range change {
		form[k] = v
	}
	res := f.ask("POST", path, form, nil)
	return res, read(t, res)
}

// picture is a PNG of 2 by 2 points.
func picture(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, 2, 2))))
	return b.Bytes()
}

// inspected sends the form of an inspection with files.
func inspected(t *testing.T, f *fixture, path string, fields map[string]string, files map[string][]byte) (*http.Response, string) {
	t.Helper()
	return uploaded(t, f, path+"/inspect", "inspect-photo", fields, files)
}

// uploaded sends a form with files in a field.
func uploaded(t *testing.T, f *fixture, path, field string, fields map[string]string, files map[string][]byte) (*http.Response, string) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	require.NoError(t, m.WriteField("token", f.token(t)))
	for k, v := range fields {
		require.NoError(t, m.WriteField(k, v))
	}
	for name, data := range files {
		w, err := m.CreateFormFile(field, name)
		require.NoError(t, err)
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, m.Close())
	res := f.ask("POST", path, nil, func(r *http.Request) {
		r.Body = readCloser{bytes.NewReader(b.Bytes())}
		r.Header.Set("Content-Type", m.FormDataContentType())
	})
	return res, read(t, res)
}

type readCloser struct{ *bytes.Reader }

func (readCloser) Close() error { return nil }

// TestFindGear searches as a person does.
func TestFindGear(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.lookedOver(t)
	for query, want := range map[string][]string{
		"?text=STRAP":                  {"blue strap 9 m"},
		"?text=bow+13":                 {"bow shackle 13"},
		"?kind=bow+shackle":            {"bow shackle 12", "bow shackle 13"},
		"?text=12&kind=recovery+strap": nil,
		"?after=p1":                    {"front &lt;b&gt;point", "bow shackle 12", "bow shackle 13"},
		"?show=retired":                nil,
		"?text=WLL+46.6+kN":            {"bow shackle 12"},
		"?text=4.75t":                  {"bow shackle 12"}, // 46.6 kN on a label printed in tonnes
		"?text=8.16+t+mbs":             {"blue strap 9 m"},
	} {
		page := f.page(t, "/gear"+query)
		assert.Equal(t, len(want), strings.Count(page, `class="lead"`), query)
		for _, name := range want {
			assert.Contains(t, page, name, query)
		}
	}
	assert.Equal(t, http.StatusBadRequest, f.ask("GET", "/gear?kind=jerk", nil, nil).StatusCode)

	d := f.strap(t) // what is in trouble is searched in the same words
	d.Value.Quarantined, d.Value.Serial = &gear.Withdrawal{Date: "2026-03-14", Reason: "cut"}, "LF-88"
	_, err := f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	for _, text := range []string{"lf-88", "80+kN", "18000+lbf"} {
		page := f.page(t, "/gear?text="+text)
		assert.Equal(t, 1, strings.Count(page, `>blue strap 9 m</a>`), "among what to look at first, and not once more in the list: %s", text)
		assert.Equal(t, 1, strings.Count(page, "MBS 80 kN"), "with what it is rated for")
		assert.NotContains(t, page, "Nothing fits")
	}
}

// TestItem reads the page of the strap: rating in words, life, journal. 40 kN
// on a strap of 80 kN MBS is half of it.
func TestItem(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	said := spoken(f.page(t, f.strapPath(t)))
	for _, say := range []string{
		"MBS 80 kN, any direction", "recovery strap", "40 kN 50 % of its breaking strength", "Pulls 1", "Largest load 40 kN",
		"No inspection is recorded, and no interval.", "The owner’s rule none is recorded", "put into the register", "14 March 2026",
	} {
		assert.Contains(t, said, say)
	}
}

// TestAnotherRowTakesOverNoVersion: a button that adds a row to a form does not
// hide that somebody else changed the item meanwhile.
func TestAnotherRowTakesOverNoVersion(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, d := f.strapPath(t), f.strap(t)
	form := url.Values{"version": {fmt.Sprint(d.Version)}, "name": {"blue strap 9 m"}, "id": {"b9"}, "kind": {"recovery strap"}, "add": {"ratings"}}
	d.Value.Notes = "theirs"
	theirs, err := f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	_, page := send(t, f, path+"/edit", form)
	assert.Contains(t, page, fmt.Sprintf(`name="version" value="%s"`, form.Get("version")))
	form.Del("add")
	res, _ := send(t, f, path+"/edit", form)
	assert.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Equal(t, theirs.Value, f.strap(t).Value)
}

// TestEditItem gives the strap a second rating by the button that needs no
// script, is refused, corrects it, and takes it back.
func TestEditItem(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, before := f.strapPath(t), f.strap(t)
	form := url.Values{
		"version": {fmt.Sprint(before.Version)}, "name": {"blue strap 9 m"}, "id": {"b9"}, "kind": {"recovery strap"}, "length": {"9 m"},
		"ratings": {"1"}, "r1-value": {"80 kN"}, "r1-basis": {"MBS"}, "r1-direction": {"any direction"}, "add": {"ratings"}, "notes": {"half typed"},
	}
	res, page := send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusOK, res.StatusCode)
	assert.Contains(t, page, `name="r2-value"`)
	assert.Contains(t, page, "half typed")
	assert.Equal(t, before, f.strap(t), "a button that adds a row keeps nothing")

	form.Del("add")
	for k, v := range map[string]string{"ratings": "2", "r2-value": "27", "r2-basis": "WLL", "r2-factor": "2", "max-peak": "half", "made": "14.3.2024"} {
		form.Set(k, v)
	}
	res, page = send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	for _, say := range []string{`id="r2-value-say"`, "a bare number is refused", `id="r2-factor-say"`, "belongs to an MBS", `id="max-peak-say"`, `id="made-say"`, `value="14.3.2024"`, "half typed"} {
		assert.Contains(t, page, say)
	}
	assert.Equal(t, before, f.strap(t))
	bolts := url.Values{}
	for k, v := range form {
		bolts[k] = v
	}
	for k, v := range map[string]string{"bolts": "2", "b2-count": "90", "b2-size": "M12", "b2-hole": "11 mm"} { // the first group stays empty
		bolts.Set(k, v)
	}
	_, page = send(t, f, path+"/edit", bolts)
	for _, say := range []string{`id="b2-count-say">90 bolts are not possible`, `id="b2-hole-say">An M12 bolt does not fit`, `value="11 mm"`} {
		assert.Contains(t, page, say)
	}

	for k, v := range map[string]string{"r2-value": "27kN", "r2-factor": "", "max-peak": "50%", "made": "2024", "who": "Mira"} {
		form.Set(k, v)
	}
	res, page = send(t, f, path+"/edit", form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	now := f.strap(t).Value
	require.Len(t, now.Ratings, 2)
	assert.Equal(t, gear.Rating{Value: 27_000, Basis: gear.WLL}, now.Ratings[1])
	assert.Equal(t, before.Value.Ratings[0], now.Ratings[0], "what was left as it was")
	assert.Equal(t, before.Value.Length, now.Length)
	require.NotNil(t, now.RetireRule)
	assert.Equal(t, 0.5, *now.RetireRule.MaxPeak)
	said := spoken(f.page(t, path))
	assert.Contains(t, said, ", Mira: made was not known, now 2024; notes was not known, now half typed; what it is rated for was MBS 80 kN, any direction, now MBS 80 kN, any direction and WLL 27 kN; the owner’s rule was none is recorded, now after one pull above 50 % of its breaking strength.")

	undoLatest(t, f, path, "item", before.ID)
	assert.Equal(t, before.Value, f.strap(t).Value)
	undoLatest(t, f, path, "item", before.ID)
	assert.Equal(t, now, f.strap(t).Value, "an undo is undone")

	changes, err := f.store.Journal(t.Context(), "item", before.ID, 0)
	require.NoError(t, err)
	old := url.Values{"change": {fmt.Sprint(changes[2].ID)}, "version": {fmt.Sprint(f.strap(t).Version)}}
	res, page = send(t, f, path+"/undo", old)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Equal(t, before.Value, f.strap(t).Value, "as it was before a change that others stand on")
	res, _ = send(t, f, path+"/undo", old)
	assert.Equal(t, http.StatusConflict, res.StatusCode, "somebody else was faster")
}

// undoLatest presses the button of the latest change.
func undoLatest(t *testing.T, f *fixture, path, what string, id int64) {
	t.Helper()
	changes, err := f.store.Journal(t.Context(), what, id, 1)
	require.NoError(t, err)
	require.Len(t, changes, 1)
	res, page := send(t, f, path+"/undo", url.Values{"change": {fmt.Sprint(changes[0].ID)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
}

// TestNewItem adds an item with bolts, all of whose fields come back.
func TestNewItem(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	form := url.Values{
		"name": {"rear plate"}, "kind": {"recovery point"}, "vehicle": {""}, "where": {"rear"}, "every": {"12"},
		"r1-value": {"4.75 t"}, "r1-basis": {"WLL"}, "r1-direction": {"up to 30deg"}, "r1-together": {"pair"}, "r1-stamp": {"WLL 4.75 t"},
		"b1-count": {"4"}, "b1-size": {"M12"}, "b1-class": {"8.8"}, "b1-axis": {"across"}, "member": {"chassis rail"}, "engineered": {"yes"}, "tested": {"no"}, "plate": {"8 mm"}, "steel": {"S235"},
	}
	res, page := send(t, f, "/gear/new", form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	path := res.Header.Get("Location")
	edit := f.page(t, path+"/edit")
	for _, say := range []string{`value="4.75 t"`, `value="up to 30deg"`, `value="8 mm"`, `value="4"`, `<option value="M12" selected>`, `<option value="S235" selected>`, `<option value="pair" selected>`, `value="WLL 4.75 t"`} {
		assert.Contains(t, edit, say)
	}
	said := spoken(f.page(t, path))
	assert.Contains(t, said, "Indicative only. With the line straight off the vehicle")
	assert.Contains(t, said, "To be inspected every 12 months, and no inspection is recorded.")

	res, page = send(t, f, "/gear/new", form)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, "the same name again")
	assert.Contains(t, page, "in the register already")
}

// TestNotFixed: an item that is fixed to nothing is on no vehicle, also beside
// a vehicle that has no number of its own.
func TestNotFixed(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	res, page := send(t, f, "/vehicles/new", url.Values{"name": {"Newt"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	res, page = send(t, f, "/gear/new", url.Values{"name": {"loose strap"}, "kind": {"recovery strap"}, "vehicle": {""}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.NotContains(t, f.page(t, res.Header.Get("Location")), "Newt")
	assert.NotContains(t, f.page(t, "/gear?text=loose"), "Newt")
}

// TestTwoEditOneItem: the second is shown both versions and loses nothing.
func TestTwoEditOneItem(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, d := f.strapPath(t), f.strap(t)
	form := func(notes string) url.Values {
		return url.Values{"version": {fmt.Sprint(d.Version)}, "name": {"blue strap 9 m"}, "id": {"b9"}, "kind": {"recovery strap"}, "length": {"9 m"}, "r1-value": {"80 kN"}, "r1-basis": {"MBS"}, "r1-direction": {"any direction"}, "notes": {notes}}
	}
	res, _ := send(t, f, path+"/edit", form("washed"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	res, page := send(t, f, path+"/edit", form("dried in the sun"))
	require.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Equal(t, "washed", f.strap(t).Value.Notes, "the first stays")
	assert.Contains(t, spoken(page), "Notes It was nothing , it is now washed , you have dried in the sun . Yours stands")
	assert.Contains(t, page, ">dried in the sun</textarea>")
	second := form("washed, dried in the sun")
	second.Set("version", fmt.Sprint(f.strap(t).Version))
	assert.Contains(t, page, `name="version" value="`+second.Get("version")+`"`)
	res, _ = send(t, f, path+"/edit", second)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Equal(t, "washed, dried in the sun", f.strap(t).Value.Notes)
}

// TestInspect adds an inspection with a picture, after one that was refused.
func TestInspect(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := f.strapPath(t)
	res, page := inspected(t, f, path, map[string]string{"inspect-date": "2026-03-10", "inspect-notes": "left eye frayed"}, map[string][]byte{"eye.png": picture(t), "eye.svg": []byte("<svg onload='x'/>")})
	require.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	for _, say := range []string{`id="inspect-result-say"`, `id="inspect-photo-say"`, "eye.svg", "left eye frayed", `name="inspect-kept"`} {
		assert.Contains(t, page, say)
	}
	_, rest, _ := strings.Cut(page, `name="inspect-kept" value="`)
	kept, _, _ := strings.Cut(rest, `"`)
	res, page = inspected(t, f, path, map[string]string{"inspect-date": "2026-03-10", "inspect-notes": "left eye frayed", "inspect-result": "watch", "inspect-who": "Mira", "inspect-kept": kept}, nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	it := f.strap(t).Value
	require.Len(t, it.Inspections, 1)
	assert.Equal(t, gear.Inspection{Date: "2026-03-10", Who: "Mira", Result: gear.Watch, Notes: "left eye frayed", Photos: []string{kept}}, it.Inspections[0])
	hash, _ := store.AttachmentHash(kept)
	assert.Contains(t, f.page(t, path), `<img src="/pictures/`+hash+`"`)
	shown := f.ask("GET", "/pictures/"+hash, nil, nil)
	assert.Equal(t, []string{"image/png", "nosniff"}, []string{shown.Header.Get("Content-Type"), shown.Header.Get("X-Content-Type-Options")})
	assert.Contains(t, shown.Header.Get("Content-Security-Policy"), "sandbox")
	assert.Equal(t, string(picture(t)), read(t, shown))
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/pictures/abc", nil, nil).StatusCode)
	huge, _ := inspected(t, f, path, nil, map[string][]byte{"a.png": make([]byte, 5*store.MaxAttachment)})
	assert.Equal(t, http.StatusRequestEntityTooLarge, huge.StatusCode)
}

// TestOutOfService quarantines, releases and retires, with reasons.
func TestOutOfService(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := f.strapPath(t)
	res, page := send(t, f, path+"/quarantine", nil)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, page, "Say why, so that the next person knows.")
	for _, name := range []string{"quarantine", "retire"} {
		_, page = send(t, f, path+"/"+name, nil)
		assert.Contains(t, page, `<li><a href="#`+name+`-reason">`, "the way to it")
		assert.Regexp(t, `id="`+name+`-reason"[^>]* autofocus`, page, "the page opens there")
		assert.Equal(t, 1, strings.Count(page, " autofocus"))
	}
	_, page = send(t, f, path+"/inspect", url.Values{"inspect-date": {"soon"}})
	assert.Contains(t, page, `<li><a href="#inspect-date">`)
	assert.Contains(t, page, `<li><a href="#inspect-result">`, "all that is wrong is told at once")
	assert.Equal(t, 1, strings.Count(page, " autofocus"), "the page opens at the first")
	_, page = send(t, f, "/gear/new", url.Values{"version": {"0"}, "kind": {"ring"}})
	assert.Contains(t, page, `<li><a href="#name">`, "a form of the register too")
	_, page = send(t, f, "/vehicles/new", url.Values{"version": {"0"}})
	assert.Contains(t, page, `<li><a href="#name">`)
	assert.Contains(t, f.page(t, "/plan/kinetic?rig=single+strap&speed=8"), `<li><a href="#speed">`, "and a plan")
	act := func(name, reason string, want int) {
		t.Helper()
		res, page := send(t, f, path+"/"+name, url.Values{name + "-reason": {reason}, name + "-who": {"Mira"}})
		require.Equal(t, want, res.StatusCode, page)
	}
	act("quarantine", "cut at the left eye", 303)
	const say = "In quarantine since 14 March 2026 by Mira: Cut at the left eye."
	list := spoken(f.page(t, "/gear"))
	assert.Contains(t, list, "Look at these first blue strap 9 m recovery strap "+say)
	assert.Contains(t, spoken(f.page(t, "/gear?show=trouble")), say)
	act("quarantine", "again", 422)
	_, page = send(t, f, path+"/quarantine", url.Values{"quarantine-reason": {"again"}})
	assert.Contains(t, spoken(page), "Nothing was changed. Somebody was faster. "+say, "also where its form is not shown any more")
	act("release", "sewn anew", 303)
	_, page = send(t, f, path+"/release", url.Values{"release-reason": {"again"}})
	assert.Contains(t, spoken(page), "Nothing was changed. It is not out of service any more.")
	assert.NotContains(t, f.page(t, "/gear"), "In quarantine")
	assert.Contains(t, f.strap(t).Value.Notes, "2026-03-14, back into use by Mira: Sewn anew.")
	act("retire", "past ten years", 303)
	assert.NotContains(t, f.page(t, "/gear"), "blue strap")
	assert.Contains(t, spoken(f.page(t, "/gear?show=retired")), "Retired since 14 March 2026 by Mira: Past ten years.")
	undoLatest(t, f, path, "item", f.strap(t).ID)
	assert.Contains(t, f.page(t, "/gear"), "blue strap")
}

// TestRemoveItem removes the strap and brings it back.
func TestRemoveItem(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, d := f.strapPath(t), f.strap(t)
	res, _ := send(t, f, path+"/remove", url.Values{"version": {"77"}})
	assert.Equal(t, http.StatusConflict, res.StatusCode)
	res, page := send(t, f, path+"/remove", url.Values{"version": {fmt.Sprint(d.Version)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.NotContains(t, f.page(t, "/gear"), "blue strap")
	assert.Contains(t, f.page(t, "/gear?show=removed"), "blue strap")
	assert.Contains(t, spoken(f.page(t, path)), "It was removed from the register on ")
	res, _ = send(t, f, path+"/quarantine", url.Values{"quarantine-reason": {"late"}})
	assert.Equal(t, http.StatusConflict, res.StatusCode)
	undoLatest(t, f, path, "item", d.ID)
	assert.Contains(t, f.page(t, "/gear"), "blue strap")
	res, _ = send(t, f, "/gear/1/undo", url.Values{"change": {"1"}})
	assert.Equal(t, http.StatusNotFound, res.StatusCode, "a change of something else")
}

// TestTroubles follows the journal, also where another program wrote.
func TestTroubles(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.lookedOver(t)
	assert.Contains(t, f.page(t, "/gear?show=trouble"), "Nothing in the register is out of service")
	year, twelve := 1.0, 12
	for i := range 60 {
		it := gear.Item{ID: fmt.Sprintf("t%02d", i), Name: "old strap", Kind: gear.TowStrap, Made: "2020", Life: gear.Life{RetireRule: &gear.RetireRule{MaxAge: &year}}}
		if i == 7 {
			it = gear.Item{ID: "t07", Name: "new strap", Kind: gear.TowStrap, Inspected: "2025-01-01", Life: gear.Life{InspectEvery: &twelve}}
		}
		_, err := f.store.SaveItem(t.Context(), store.Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
	page := f.page(t, "/gear?text=tow")
	assert.Contains(t, page, "All 60 of them")
	assert.Contains(t, page, "the next inspection was due by 1 January 2026")
	page = f.page(t, "/gear?show=trouble")
	assert.Equal(t, 50, strings.Count(page, `class="lead"`))
	assert.Contains(t, page, "after=t49")
	assert.Equal(t, 10, strings.Count(f.page(t, "/gear?show=trouble&after=t49"), `class="lead"`))
	d, err := f.store.ItemByKey(t.Context(), "t00")
	require.NoError(t, err)
	require.NoError(t, f.store.Remove(t.Context(), "item", d.ID, 0))
	assert.Contains(t, f.page(t, "/gear"), "All 59 of them")
}

// TestPullsOf lists the pulls of a vehicle and of an item, and only those.
func TestPullsOf(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	otter, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Otter"}})
	require.NoError(t, err)
	mole, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Mole"}})
	require.NoError(t, err)
	one := fmt.Sprintf(`href="/pulls/%d"`, f.pull.ID)
	page := f.page(t, fmt.Sprintf("/pulls?vehicle=%d", otter.ID))
	assert.Contains(t, spoken(page), "Pulls of Otter")
	assert.Contains(t, page, one)
	assert.Contains(t, page, fmt.Sprintf(`<input type="hidden" name="vehicle" value="%d">`, otter.ID), "another choice stays with it")
	assert.NotContains(t, f.page(t, fmt.Sprintf("/pulls?vehicle=%d", mole.ID)), one)
	page = f.page(t, fmt.Sprintf("/pulls?item=%d&kind=kinetic", f.strap(t).ID))
	assert.Contains(t, spoken(page), "Pulls of blue strap 9 m")
	assert.Contains(t, page, one)
	assert.Contains(t, f.page(t, fmt.Sprintf("/vehicles/%d", otter.ID)), fmt.Sprintf("/pulls?vehicle=%d", otter.ID))
	for query, want := range map[string]int{"vehicle=99": 404, "item=99": 404, "item=x": 400, "vehicle=x": 400} {
		assert.Equal(t, want, f.ask("GET", "/pulls?"+query, nil, nil).StatusCode, query)
	}
}

// What has no rating says so, in words of its own.
func TestNoRatingIsSaid(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	_, err := f.store.SaveItem(t.Context(), store.Document[gear.Item]{Value: gear.Item{Name: "river mat", Kind: gear.Damper}})
	require.NoError(t, err)
	assert.Contains(t, spoken(f.page(t, "/gear?text=mat")), "river mat damper no rating recorded.")
}

// TestTroublesCountPulls: an item that is past a rule on pulls or peaks is to be
// looked at first, from the pull on that passed it, and no longer once that pull
// turns out to have had another rig.
func TestTroublesCountPulls(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.lookedOver(t)
	two, half := 2, 0.5
	rope := gear.Item{ID: "rope-9", Name: "winch rope 9", Kind: gear.WinchRope, Ratings: []gear.Rating{{Value: 100e3, Basis: gear.MBS}}, Life: gear.Life{RetireRule: &gear.RetireRule{MaxPulls: &two}}}
	strap := gear.Item{ID: "strap-9", Name: "strap 9", Kind: gear.RecoveryStrap, Ratings: []gear.Rating{{Value: 100e3, Basis: gear.MBS}}, Life: gear.Life{RetireRule: &gear.RetireRule{MaxPeak: &half}}}
	for _, it := range []gear.Item{rope, strap} {
		_, err := f.store.SaveItem(t.Context(), store.Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
	g := rig.Rig{Name: "ruled", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: []rig.Link{rig.InLine(gear.Item{Name: "River-1", Kind: gear.LoadCell}), rig.InLine(rope), rig.InLine(strap)}}
	var last store.Pull
	for i, peak := range []unit.Force{20e3, 50e3, 51e3} {
		assert.Contains(t, f.page(t, "/gear?show=trouble"), "Nothing in the register is out of service", "after %d pulls", i)
		p := found()
		p.Start, p.End, p.PeakAt = p.Start+int64(i+1)*60e9, p.End+int64(i+1)*60e9, p.PeakAt+int64(i+1)*60e9
		p.Peak, p.PeakLow, p.PeakHigh = peak, peak, peak
		var err error
		last, err = f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: p, Rig: &g, Settled: true})
		require.NoError(t, err)
	}
	for _, path := range []string{"/gear", "/gear?show=trouble", "/gear?text=9&after=r"} {
		page := spoken(f.page(t, path))
		assert.Contains(t, page, "It carried 3 pulls; the owner retires it after 2.", path)
		assert.Contains(t, page, "It carried 51 kN, 51 % of its breaking strength; the owner retires it after more than 50 %.", path)
	}
	inLbf := f.ask("GET", "/gear?show=trouble", nil, func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "unit", Value: "lbf"}) })
	assert.Contains(t, spoken(read(t, inLbf)), "lbf, 51 % of its breaking strength")
	kept, err := f.store.SaveRig(t.Context(), document(g))
	require.NoError(t, err)
	for _, path := range []string{"", "/edit"} {
		assert.Contains(t, spoken(f.page(t, fmt.Sprintf("/rigs/%d", kept.ID)+path)), "Do not pull with this. winch rope 9 is past its time. It carried 3 pulls; the owner retires it after 2.")
	}
	last.Rig = nil
	_, err = f.store.SavePull(t.Context(), last)
	require.NoError(t, err)
	assert.Contains(t, f.page(t, "/gear?show=trouble"), "Nothing in the register is out of service")
}

// TestAnOverloadAsksForALook finds the item that carried more than it is rated
// for among those to look at first, until somebody has looked it over since.
func TestAnOverloadAsksForALook(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	const says = "It may have carried more than 31.9 kN, the lowest number that it is rated for, last on 14 March 2026; no inspection since then is recorded."
	shackle, err := f.store.ItemByKey(t.Context(), "s13")
	require.NoError(t, err)
	path := fmt.Sprintf("/gear/%d", shackle.ID)
	trouble := spoken(f.page(t, "/gear?show=trouble"))
	assert.Equal(t, 1, strings.Count(trouble, "It may have carried more"), "nothing else was loaded too much")
	assert.Contains(t, trouble, says)
	assert.Contains(t, spoken(f.page(t, "/gear")), says)
	assert.Contains(t, spoken(f.page(t, path)), says)

	look := func(date, result string) string {
		res, page := inspected(t, f, path, map[string]string{"inspect-date": date, "inspect-result": result, "inspect-who": "Mira"}, nil)
		require.Equal(t, 303, res.StatusCode, page)
		return spoken(f.page(t, "/gear?show=trouble"))
	}
	assert.Contains(t, look("2026-03-13", "in order"), says, "that was before")
	assert.NotContains(t, look("2026-03-14", "in order"), says)
	assert.NotContains(t, spoken(f.page(t, path)), says)

	again := found()
	day := int64(24 * time.Hour)
	again.Start, again.End, again.PeakAt = again.Start+day, again.End+day, again.PeakAt+day
	_, err = f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: again, Rig: &f.rig.Value, Settled: true})
	require.NoError(t, err)
	assert.Contains(t, spoken(f.page(t, "/gear?show=trouble")), "last on 15 March 2026")

	// A corrected rating changes it at once.
	shackle, err = f.store.Item(t.Context(), shackle.ID)
	require.NoError(t, err)
	shackle.Value.Ratings[0].Value = 50_000
	_, err = f.store.SaveItem(t.Context(), shackle)
	require.NoError(t, err)
	assert.NotContains(t, spoken(f.page(t, "/gear?show=trouble")), "It may have carried more")
}

// TestAPointIsAddedFromItsVehicle opens the form from the page of a vehicle:
// what it is fixed to and its kind are filled in.
func TestAPointIsAddedFromItsVehicle(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	otter, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Otter"}})
	require.NoError(t, err)
	address := fmt.Sprintf("/gear/new?vehicle=%d", otter.ID)
	assert.Contains(t, f.page(t, fmt.Sprintf("/vehicles/%d", otter.ID)), `href="`+address+`"`)
	page := f.page(t, address)
	assert.Regexp(t, `<option value="Otter" selected`, page)
	assert.Regexp(t, `<option value="recovery point" selected`, page)
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/gear/new?vehicle=99", nil, nil).StatusCode)
}
