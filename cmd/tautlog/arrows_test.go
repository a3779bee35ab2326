package main

import (
	"encoding/json"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// allowed is the import table of the project: for each package, in the order
// of the layers from the top, the project's packages that its code (tests
// aside) may import. "x/..." allows everything below x.
var allowed = []struct {
	pkg  string
	may  []string
	note string // why it stops there
}{
	{"cmd/tautlog", []string{"dashboards/...", "ingest/...", "analysis/...", "calc/..."}, "wiring: the only place that knows everything"},
	{"cmd/handout", nil, "builds the program and needs none of it"},
	{"dashboards/guide", nil, "words and pictures for people: it knows nothing of the program"},
	{"dashboards/web", []string{"dashboards/guide", "ingest/intake", "ingest/logfile", "ingest/registerfile", "ingest/tracefile", "dashboards/gather", "dashboards/logbook", "dashboards/report", "dashboards/bound", "dashboards/chain", "dashboards/plot", "dashboards/label", "dashboards/people", "ingest/archive", "ingest/derive", "ingest/listen", "ingest/record", "ingest/watch", "ingest/store", "analysis/...", "calc/..."}, "shows what was recorded, how far the archive is, and what is heard on a line to be set up; never touches a port, bytes or the simulated cell"},
	{"dashboards/web/webtest", []string{"ingest/needs"}, "a browser for tests: it sees what a person sees, and nothing of the program"},
	{"dashboards/bound", nil, "spaces in texts and markup: it knows nothing of what they say"},
	{"dashboards/chain", []string{"dashboards/bound", "analysis/rating", "calc/..."}, "a drawing of a rig and its verdicts: pages, reports and lists share it, so it knows none of them"},
	{"dashboards/logbook", []string{"ingest/store", "analysis/...", "calc/..."}, "what pages ask of the log again and again: it knows the log and fits, and no page"},
	{"dashboards/people", []string{"ingest/store", "calc/words"}, "who somebody is and what they may do: it knows no page, no cookie and no pull"},
	{"dashboards/label", nil, "makes a code of a text: it knows no gear and no page"},
	{"dashboards/gather", []string{"dashboards/report", "dashboards/plot", "dashboards/logbook", "ingest/derive", "ingest/store", "analysis/pull", "analysis/rating", "analysis/shock", "calc/unit"}, "from the store to the values of a report: neither page nor document"},
	{"dashboards/report", []string{"dashboards/bound", "dashboards/chain", "dashboards/plot", "analysis/...", "calc/..."}, "a document made of values, the same for the same values: no store, no page"},
	{"dashboards/plot", []string{"analysis/shock", "calc/unit"}, "draws what a chart holds: reports and commands hand it charts, and it fits nothing"},
	{"ingest/watch", []string{"ingest/bulletin", "ingest/derive", "ingest/record", "ingest/store", "analysis/...", "calc/..."}, "finds pulls in what was recorded; must not depend on how bytes came"},
	{"ingest/derive", []string{"ingest/store", "analysis/pull", "analysis/trace", "calc/..."}, "what stored readings are in newtons: it follows no line and looks for no port"},
	{"ingest/record", []string{"ingest/bulletin", "ingest/wire", "ingest/port", "ingest/store", "analysis/trace", "calc/..."}, "does not interpret force: pulls are found one layer up, from the same readings a file gives"},
	{"ingest/store", []string{"ingest/wire", "ingest/port", "analysis/...", "calc/..."}, "keeps what others define; a store that calls the recorder would be a circle of blame"},
	{"ingest/archive", []string{"ingest/derive", "ingest/store", "ingest/tracefile", "analysis/...", "calc/..."}, "copies what is stored: the recorder must not know of it, let alone wait"},
	{"dashboards/influx", nil, "ready queries and their test: no code"},
	{"ingest/archive/archivetest", []string{"ingest/needs"}, "a real server for tests: it knows nothing of the program"},
	{"ingest/listen", []string{"ingest/wire", "ingest/port", "ingest/store", "calc/..."}, "hears and proposes: what is set up is recorded by others, from the same settings"},
	{"ingest/intake", []string{"ingest/derive", "ingest/port", "ingest/store", "ingest/tracefile", "analysis/...", "calc/..."}, "a trace from elsewhere becomes what was recorded here: for the command and the pages, and it knows neither"},
	{"ingest/registerfile", []string{"calc/..."}, "a file is not a register: no store, no pull"},
	{"ingest/logfile", []string{"ingest/parquetfile", "ingest/store", "analysis/...", "calc/..."}, "the log as files for others: what leaves the program is made in one place, for the command and the pages"},
	{"ingest/parquetfile", nil, "rows and columns, whatever they mean"},
	{"ingest/tracefile", []string{"ingest/parquetfile", "analysis/...", "calc/..."}, "a file is not an instrument: no port, no store"},
	{"ingest/rehearse", []string{"ingest/wire", "ingest/port", "analysis/trace", "calc/..."}, "the simulated cell must reach the daemon through a device, not through its packages"},
	{"ingest/needs", nil, "what tests need from outside the program: nothing of it"},
	{"ingest/bulletin", nil, "carries anything and knows nothing of it"},
	{"ingest/wire", []string{"analysis/trace", "calc/unit", "calc/calibrate"}, "pure bytes to readings: fuzzed, reusable, no clock"},
	{"ingest/port", nil, "moves bytes and knows nothing of what they mean"},
	{"analysis/life", []string{"analysis/rating", "analysis/pull", "calc/..."}, "sums up what others found and judged: no log, no store"},
	{"analysis/plan", []string{"analysis/rating", "analysis/shock", "analysis/pull", "calc/..."}, "arithmetic on what others measured, fitted and rated: no trace, no file"},
	{"analysis/rating", []string{"analysis/pull", "calc/..."}, "facts against ratings: no trace needed"},
	{"analysis/shock", []string{"analysis/pull", "calc/..."}, "statistics of pulls that were measured; of gear only what a logged pull was rigged with: no trace, no rating of a use, no file"},
	{"analysis/survey", []string{"analysis/pull", "analysis/trace", "calc/..."}, "a trace from wherever it comes, read as often as it takes: no file, no store"},
	{"analysis/pull", []string{"analysis/trace", "calc/unit"}, "what the line did, whatever gear was on it"},
	{"analysis/trace", []string{"calc/unit"}, "numbers over time and nothing else"},
	{"calc/rig", []string{"calc/gear", "calc/strict", "calc/unit"}, "geometry of gear"},
	{"calc/gear", []string{"calc/unit"}, "what an item is rated for does not depend on where it hangs"},
	{"calc/kinetic", []string{"calc/strict", "calc/unit"}, "physics; the measured curve of a strap comes as a table, its use in a rig does not matter"},
	{"calc/steady", []string{"calc/unit"}, "what the ground asks does not depend on the gear that answers"},
	{"calc/calibrate", []string{"calc/strict", "calc/unit"}, "arithmetic of readings, and the table they come in"},
	{"calc/strict", nil, "reads hand-written files and knows none of their nouns"},
	{"calc/unit", nil, "the bottom"},
	{"calc/words/bracket", nil, "a language for tests: no code of the program speaks it"},
	{"calc/words", nil, "texts by name, below all that speak: they know nothing of what is said with them"},
}

// owners says which one package may import a third-party library; its tests
// and those of others may.
var owners = []struct{ library, owner, why string }{
	{"go.bug.st/serial", "ingest/port", "its errors and quirks are handled once"},
	{"github.com/parquet-go/parquet-go", "ingest/parquetfile", "one set of codings and types"},
	{"modernc.org/sqlite", "ingest/store", "one writer, one set of pragmas"},
	{"database/sql", "ingest/store", "no SQL outside the store"},
	{"github.com/influxdata/influxdb-client-go/v2", "ingest/archive", "loss and back-off are handled once"},
	{"github.com/creack/pty", "ingest/rehearse", "only the simulated cell makes a device"},
	{"github.com/spf13/cobra", "cmd/tautlog", "flags stop at the command"},
	{"github.com/chromedp/chromedp", "dashboards/web/webtest", "no browser in the program"},
	{"github.com/santhosh-tekuri/jsonschema/v6", "cmd/tautlog", "tests only, here and in others: documents are checked against their schema where they are written"},
	{"golang.org/x/crypto", "dashboards/people", "one place hashes passwords"},
	{"golang.org/x/text", "calc/words", "one place knows languages"},
	{"golang.org/x/term", "cmd/tautlog", "a terminal that hides what is typed is the command line's"},
	{"github.com/yuin/goldmark", "dashboards/guide", "one text is written in Markdown"},
	{"rsc.io/qr", "dashboards/label", "one place knows how codes look"},
	{"gonum.org/v1/plot", "dashboards/plot", "one place knows how figures look"},
	{"codeberg.org/go-pdf/fpdf", "dashboards/report", "one place knows how a sheet of paper looks"},
	{"codeberg.org/go-fonts/liberation", "dashboards/report", "the letters of the sheet; figures bring their own"},
	{"github.com/klauspost/compress", "ingest", "compression belongs to files and blocks"},
}

type listed struct {
	ImportPath string
	Imports    []string
	Deps       []string
}

func listPackages(t *testing.T) []listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,Deps", "tautlog/...").Output()
	require.NoError(t, err, "go list")
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); err == io.EOF {
			return all
		} else {
			require.NoError(t, err)
		}
		all = append(all, p)
	}
}

func covers(pattern, pkg string) bool {
	if base, ok := strings.CutSuffix(pattern, "/..."); ok {
		return strings.HasPrefix(pkg, base+"/")
	}
	return pattern == pkg
}

func TestImportArrows(t *testing.T) {
	for _, p := range listPackages(t) {
		name := strings.TrimPrefix(p.ImportPath, "tautlog/")
		row := slices.IndexFunc(allowed, func(r struct {
			pkg  string
			may  []string
			note string
		}) bool {
			return r.pkg == name
		})
		if !assert.GreaterOrEqual(t, row, 0, "package %s has no row in the import table: add one with its reason", name) {
			continue
		}
		for _, imp := range p.Imports {
			own, inside := strings.CutPrefix(imp, "tautlog/")
			if !inside || own == "calc/words" { // everybody may speak
				continue
			}
			ok := slices.ContainsFunc(allowed[row].may, func(m string) bool { return covers(m, own) })
			assert.True(t, ok, "%s imports %s; it may not: %s", name, own, allowed[row].note)
		}
	}
}

func TestCalcUsesOnlyStandardLibraryAndGonum(t *testing.T) {
	for _, p := range listPackages(t) {
		if !strings.HasPrefix(p.ImportPath, "tautlog/calc/") || strings.HasPrefix(p.ImportPath, "tautlog/calc/words") { // the rules of plurals are not ours
			continue
		}
		for _, imp := range p.Imports {
			domain, _, _ := strings.Cut(imp, "/")
			if strings.Contains(domain, ".") {
				assert.True(t, strings.HasPrefix(imp, "gonum.org/v1/gonum/"), "%s imports %s: calc is handbook arithmetic", p.ImportPath, imp)
			}
		}
	}
}

func TestAnalysisHasNoClockNoLogNoDatabase(t *testing.T) {
	for _, p := range listPackages(t) {
		if !strings.HasPrefix(p.ImportPath, "tautlog/analysis/") {
			continue
		}
		for _, banned := range []string{"time", "log", "log/slog", "database/sql", "net", "os"} {
			assert.NotContains(t, p.Imports, banned, "%s: analysis gives the same answer whenever and wherever it runs", p.ImportPath)
		}
	}
}

func TestLibrariesHaveOneImporter(t *testing.T) {
	for _, p := range listPackages(t) {
		name := strings.TrimPrefix(p.ImportPath, "tautlog/")
		for _, imp := range p.Imports {
			for _, o := range owners {
				if imp == o.library || strings.HasPrefix(imp, o.library+"/") {
					at := name == o.owner || strings.HasPrefix(name, o.owner+"/")
					assert.True(t, at, "%s imports %s, which only %s may: %s", name, imp, o.owner, o.why)
				}
			}
		}
	}
}
