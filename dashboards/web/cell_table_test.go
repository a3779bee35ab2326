package web_test

import (
	"encoding/json"
	"math"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/dashboards/web/webtest"
)

// pastedTable is as somebody copies it from a spreadsheet, with tabs: a made-up
// cell under four runs by the plan of ISO 376, the first two without turning it,
// each up and down again, and a zero before and after.
func pastedTable() string {
	var b strings.Builder
	b.WriteString("reading\tforce_kN\trun\tdirection\r\n")
	row := func(run string, kN int, off float64, way string) {
		gain := map[string]float64{"1": 0, "2": 2e-5, "3": -1e-4, "4": 1e-4}[run]
		reading := math.Round(1000*float64(kN)*(1+gain) + off)
		text, _ := json.Marshal(reading)
		b.WriteString(string(text) + "\t" + strings.TrimSpace(strings.Join([]string{itoa(kN), run, way}, "\t")) + "\r\n")
	}
	for i, run := range []string{"1", "2", "3", "4"} {
		off := []float64{0, 1, -2, 2}[i]
		row(run, 0, off, "up")
		for kN := 10; kN <= 80; kN += 10 {
			row(run, kN, off+float64(kN%3), "up")
		}
		for kN := 70; kN >= 10; kN -= 10 {
			row(run, kN, off+float64(kN%3)+3, "down")
		}
		row(run, 0, off+1, "down")
	}
	return b.String()
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }

// TestTableOnThePages: a pasted table gives the numbers that the command gives
// for the same table, figures before anything is kept, and errors with their
// line beside the field. What was changed since it was shown is not kept.
func TestTableOnThePages(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	send := func(fields map[string]string) string {
		_, page := uploaded(t, w.fixture, "/cells/River-1/table", "file", fields, nil)
		return page
	}
	for wrong, want := range map[string]string{
		"":                                     "Paste the points, or choose a file that holds them.",
		"reading,force_kN\n1,2\nx,3\n":         "In the table nothing was taken. Line 3",
		"reading,force_kN\n1,2\n3,4,5\n":       "Line 3: this line has 3 cells where the header has 2",
		"reading,force\n1,2\n":                 "Line 1: column &#34;force&#34; is not known",
		"# made up\nreading,force_kN\n1,2\n":   "takes 3 or more",
		"reading,force_kN,direction\n1,2,left": "Line 2: direction &#34;left&#34; is not known; write up or down",
	} {
		page := send(map[string]string{"text": wrong, "do": "show"})
		assert.Contains(t, page, want, wrong)
		assert.Contains(t, page, `<p class="say" id="text-say">`, wrong)
		assert.NotContains(t, page, `value="keep"`, "nothing to keep: %s", wrong)
	}
	assert.Contains(t, send(map[string]string{"text": pastedTable(), "step": "-1", "do": "show"}), "is no step of a reading")

	page := send(map[string]string{"text": pastedTable(), "step": "1", "do": "show"})
	points, err := calibrate.ReadPoints(strings.NewReader(pastedTable()))
	require.NoError(t, err)
	fit, reason, err := calibrate.Propose(points)
	require.NoError(t, err)
	r := fit.Record("proposed: "+reason, 1)
	require.NotEmpty(t, r.ISO376.Class, "the series allows a class")
	assert.Contains(t, page, "through 68 points.")
	assert.Contains(t, page, "The degree is proposed: ")
	assert.Contains(t, page, "class "+r.ISO376.Class+" (limits from memory of ISO 376:2011")
	assert.Contains(t, page, "repeatability ")
	assert.Contains(t, page, "reversibility ")
	assert.Contains(t, page, "Lower limit factor (ASTM E74)")
	kept, err := w.store.Calibrations(t.Context(), w.cell.ID)
	require.NoError(t, err)
	assert.Empty(t, kept, "it was only shown")

	_, shown, _ := strings.Cut(page, `name="shown" value="`)
	shown, _, _ = strings.Cut(shown, `"`)
	keep := map[string]string{"text": pastedTable(), "step": "1", "do": "keep", "shown": shown, "who": "A. Keeper", "note": "by hand"}
	keep["degree"] = "2"
	assert.Contains(t, send(keep), "What is fitted was changed since it was shown, so nothing was kept.")
	assert.Contains(t, send(map[string]string{"text": "\r\n\r\nreading\tforce_kN\trun\r\n1\t2\tx\r\n3\t4\t\r\n5\t6\t", "do": "show"}), ">reading\tforce_kN\trun\n1\t2\tx\n3\t4\t\n5\t6\t</textarea>", "empty cells stay")
	keep["degree"], keep["class"] = "", "0.5"
	assert.Contains(t, send(keep), "A certificate has a number.")
	delete(keep, "class")
	keep["from"] = "yesterday"
	assert.Contains(t, send(keep), "is not a date")
	keep["from"] = "2026-02-01"
	send(keep)
	kept, err = w.store.Calibrations(t.Context(), w.cell.ID)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	assert.Equal(t, fit.Coefficients, kept[0].Curve.Coefficients, "to the last bit")
	assert.Equal(t, []any{"A. Keeper", "by hand", 1.0, "2026-02-01T00:00:00Z"}, []any{kept[0].Who, kept[0].Note, kept[0].Step, kept[0].From})
	assert.Contains(t, w.page(t, "/cells/River-1"), "In force: calibration 1")
}

// TestTableIsTheCommands compares what the page keeps with what the command
// says of the same file.
func TestTableIsTheCommands(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	file := filepath.Join(t.TempDir(), "points.csv")
	table := strings.ReplaceAll(strings.ReplaceAll(pastedTable(), "\t", ";"), "\r\n", "\n")
	require.NoError(t, os.WriteFile(file, []byte(table), 0o600))
	c := exec.Command("go", "run", "tautlog/cmd/tautlog", "calibrate", "--json", "--step", "1", file)
	said, err := c.Output()
	require.NoError(t, err)
	var command calibrate.Record
	require.NoError(t, json.Unmarshal(said, &command))

	_, page := uploaded(t, w.fixture, "/cells/River-1/table", "file", map[string]string{"step": "1", "do": "show"}, map[string][]byte{"points.csv": []byte(table)})
	_, shown, ok := strings.Cut(page, `name="shown" value="`)
	require.True(t, ok, page)
	shown, _, _ = strings.Cut(shown, `"`)
	uploaded(t, w.fixture, "/cells/River-1/table", "file", map[string]string{"step": "1", "do": "keep", "shown": shown, "text": table}, nil)
	kept, err := w.store.Calibrations(t.Context(), w.cell.ID)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	page2, err := json.Marshal(*kept[0].Fit)
	require.NoError(t, err)
	var pages calibrate.Record
	require.NoError(t, json.Unmarshal(page2, &pages))
	assert.Equal(t, strings.TrimPrefix(command.DegreeReason, "proposed: "), strings.TrimPrefix(pages.DegreeReason, "the degree is proposed: "))
	command.DegreeReason, pages.DegreeReason = "", ""
	assert.Equal(t, command, pages)
}

// TestTableInBrowser pastes a table with a slip, corrects it, looks at what it
// comes to, and keeps it, on a phone and on a laptop.
func TestTableInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	w := newWeighed(t)
	srv := httptest.NewServer(w.pages)
	defer srv.Close()
	axe := axeSource(t)
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		look := func(name string) {
			t.Helper()
			lookedAt(t, b, axe, "table-"+name, size)
		}
		paste := func(table string) {
			text, err := json.Marshal(table)
			require.NoError(t, err)
			webtest.Eval[bool](b, `(() => { document.querySelector("#text").value = `+string(text)+`; return true; })()`)
			b.Click(`button[value="show"]`)
		}
		b.Resize(size)
		b.Open(srv.URL + "/cells/River-1")
		b.Click(`#calibration a[href="/cells/River-1/table"]`)
		b.Await(`document.querySelector("#text") !== null`)
		paste(strings.Replace(pastedTable(), "10001", "1o001", 1))
		b.Await(`document.querySelector("#text-say")?.textContent.includes("1o001")`)
		look("slip")
		paste(pastedTable())
		b.Await(`document.querySelector("#fit") !== null`)
		look("fit")
		b.Click(`button[value="keep"]`)
		b.Await(`location.pathname === "/cells/River-1" && document.querySelector("#calibration")?.innerText.includes("In force: calibration 1")`)
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
