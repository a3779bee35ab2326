package report_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"html"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/bound"
	"tautlog/dashboards/plot"
	"tautlog/dashboards/report"
)

// source is a pull of 30 kN on the rig in a file of testdata/rigs, with a
// trace that has a gap.
func source(t *testing.T, file string) report.Source {
	t.Helper()
	f, err := os.Open(filepath.Join("../../testdata/rigs", file))
	require.NoError(t, err)
	defer f.Close()
	r, err := rig.Decode(f)
	require.NoError(t, err)
	start := time.Date(2026, 5, 17, 9, 30, 0, 0, time.UTC)
	ns := start.UnixNano()
	found := pull.Pull{
		Start: ns, End: ns + 1e9, PeakAt: ns + 4e8, Kind: pull.Kinetic, Peak: 30e3, PeakLow: 29.5e3, PeakHigh: 33e3,
		RiseTime: 0.3, RiseRate: 8e4, MaxRise: 1e5, RiseTime95: 0.01, RiseRate95: 3e3, Impulse: 2.6e4, Impulse95: 300, Samples: 1000, Rate: 1000,
		Terms: []pull.Term{{Name: "noise", Low: 30, High: 30, Note: "of one reading"}, {Name: "calibration", Note: "not known", Unknown: true}},
	}
	return report.Source{
		Title: "Test day, 17 May 2026", Date: "2026-05-17", InUse: shock.RuleOfThumb(), By: "A. Keeper <&>", Made: start.Add(time.Hour), Version: "test", Unit: unit.DefaultShown,
		Pulls: []report.Pull{{
			Number: 1, At: start, Cell: report.Cell{Name: "River-1"}, Kind: pull.Kinetic, Ground: "silt", Rig: &r, Found: found, Settled: true,
			Trace: [][]plot.Extent{{{At: 0, Low: 0, High: 9e3}, {At: 0.4, Low: 9e3, High: 30e3}}, {{At: 0.6, Low: 0, High: 8e3}, {At: 1, Low: 0, High: 0}}},
		}},
	}
}

// TestTheSameValuesGiveTheSameBytes: of every form of rig, bridles and
// redirects too.
func TestTheSameValuesGiveTheSameBytes(t *testing.T) {
	t.Parallel()
	for _, file := range []string{"kinetic-bridle.json", "winch-redirect.json", "mountings.json", "two-cells.json"} {
		for name, write := range map[string]func(report.Document, io.Writer) error{"PDF": report.Document.WritePDF, "HTML": report.Document.WriteHTML} {
			var one, two bytes.Buffer
			require.NoError(t, write(report.Build(source(t, file)), &one), "%s of %s", name, file)
			require.NoError(t, write(report.Build(source(t, file)), &two))
			assert.True(t, bytes.Equal(one.Bytes(), two.Bytes()), "%s of %s", name, file)
			assert.NotEmpty(t, one.Bytes())
		}
	}
}

// written is a document as HTML, with plain spaces where it keeps a number and its
// unit on one line.
func written(t *testing.T, d report.Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.WriteHTML(&b))
	return strings.ReplaceAll(b.String(), bound.Space, " ")
}

// TestHTMLStandsAlone: nothing is loaded from elsewhere, no name is taken for
// markup, and what matters is in it.
func TestHTMLStandsAlone(t *testing.T) {
	t.Parallel()
	page := written(t, report.Build(source(t, "kinetic-bridle.json")))
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	figures := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		start, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if start.Name.Local == "svg" {
			figures++
		}
		assert.NotContains(t, []string{"script", "link", "img", "iframe"}, start.Name.Local)
		for _, a := range start.Attr {
			assert.NotContains(t, []string{"src", "href"}, a.Name.Local)
		}
	}
	assert.GreaterOrEqual(t, figures, 2, "the chain and the trace")
	for _, say := range []string{"30.0 kN", "300 ± 10 ms from 10 % to 90 %, 80.0 ± 3.0 kN/s on average", "Impulse</th><td>26.00 ± 0.30 kN·s", "A. Keeper &lt;&amp;&gt;", string(rating.Over), "What to do next", rating.Cautions()[0].Long, ">left out</td>"} {
		assert.Contains(t, page, say)
	}
}

// TestTraceForAPhone: a figure as wide as a phone stands beside the one for paper,
// so that its letters are not shrunk, and no name is on the page twice.
func TestTraceForAPhone(t *testing.T) {
	t.Parallel()
	page := written(t, report.Build(source(t, "kinetic-bridle.json")))
	at := strings.Index(page, `<div class="trace-phone">`)
	require.Positive(t, at)
	assert.Contains(t, page[at:at+strings.Index(page[at:], "<title")], `width="270pt"`)
	for _, id := range []string{"p1-title", "p1-desc", "p1-phone-title", "p1-phone-desc"} {
		assert.Equal(t, 1, strings.Count(page, `id="`+id+`"`), id)
	}
}

// TestUncertaintyAtTheLargestForce: of several pulls by one calibration, not at
// that of the first.
func TestUncertaintyAtTheLargestForce(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	k := calibrate.Kept{
		Number: 2, From: "2026-05-02T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 4}},
		Certificate: &calibrate.Certificate{Number: "LF-7", By: "Lower Fork workshop", Expires: "2027-05-16", Relative95: 0.001, Absolute95: 40},
	}
	h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, []calibrate.Kept{k}, nil)
	require.NoError(t, err)
	s.Pulls[0].Cell.InForce = h.At(s.Pulls[0].Found.PeakAt)
	low := s.Pulls[0]
	low.Number, low.Found.Peak, low.Found.PeakLow, low.Found.PeakHigh = 2, 12e3, 11.9e3, 12.1e3
	for _, pulls := range [][]report.Pull{{low, s.Pulls[0]}, {s.Pulls[0], low}} {
		s.Pulls = pulls
		text := written(t, report.Build(s))
		assert.Contains(t, text, "at 30.00 kN (95 %)")
		assert.NotContains(t, text, "at 12.00 kN (95 %)")
	}
}

// TestTheCertificateIsStated: with what it says, how sure it makes the peak, and
// that it had expired.
func TestTheCertificateIsStated(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	text := func() string { return written(t, report.Build(s)) }
	assert.Contains(t, text(), "Certificate</th><td>not known")
	k := calibrate.Kept{
		Number: 2, From: "2026-05-02T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 4}},
		Certificate: &calibrate.Certificate{Number: "LF-7", By: "Lower Fork workshop", Expires: "2026-05-16", Relative95: 0.001, Absolute95: 40},
	}
	h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, []calibrate.Kept{k}, nil)
	require.NoError(t, err)
	s.Pulls[0].Cell.InForce = h.At(s.Pulls[0].Found.PeakAt)
	assert.Contains(t, text(), "none was made that day")
	half := unit.Force(50)
	s.Pulls[0].Cell.Checks = []calibrate.Check{{At: s.Pulls[0].Found.Start - 3600e9, Force: 170, Half95: &half, Who: "A. Keeper"}}
	assert.Contains(t, text(), "Check at 08:30</th><td>Slack, the cell reads 0.170 kN. That is beyond")
	said := text()
	for _, want := range []string{
		"LF-7 by Lower Fork workshop, holds until 16 May 2026", "It had expired when the pull was made", "0.1 % of the force and 40 N",
		"±0.050 kN at 30.00 kN (95 %), ±0.041 kN at a quarter of that", "number 2, holds from 2 May 2026",
	} {
		assert.Contains(t, said, want)
	}
	for u, want := range map[unit.ForceUnit]string{ // 9806.65 N and 4.4482216152605 N exactly
		unit.Newton: "force in N = 0 + 4·x, x the reading", unit.Kilonewton: "force in kN = 0 + 0.004·x,",
		unit.TonneF: "force in t = 0 + 0.0004078865·x,", unit.PoundF: "force in lbf = 0 + 0.8992358·x,",
	} {
		s.Unit = u
		assert.Contains(t, html.UnescapeString(text()), want)
	}
	s.Unit = unit.Kilonewton
	s.Pulls[0].Cell.InForce = h.At(0)
	assert.Contains(t, text(), "no calibration that states it is kept")
}
