package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/survey"
	"tautlog/calc/unit"
)

// updateJudge rewrites the golden files of the judge command:
//
//	go test ./cmd/tautlog -run TestJudgeGolden -update-judge
var updateJudge = flag.Bool("update-judge", false, "rewrite the golden files of the judge command")

// judgedAt is a judgement of these pulls against an example rig.
func judgedAt(t *testing.T, name string, u unit.ForceUnit, pulls ...pull.Pull) *judgement {
	t.Helper()
	r, err := readRig("../../testdata/rigs/" + name + ".json")
	require.NoError(t, err)
	j := &judgement{rig: r, remarks: r.Remarks(), unit: u, found: &survey.Found{Pulls: pulls}}
	for _, p := range pulls {
		res, err := rating.Judge(rating.PeakOf(p), r, u)
		require.NoError(t, err)
		j.results, j.seconds = append(j.results, res), append(j.seconds, nil)
	}
	j.misfits("2026-11-25")
	return j
}

func TestJudgeGolden(t *testing.T) {
	t.Parallel()
	kinetic := pull.Pull{Kind: pull.Kinetic, Start: 3e9, End: 3.5e9, PeakAt: 3.25e9, Peak: 41000, PeakLow: 40800, PeakHigh: 48900,
		Remarks: []string{"The trace was sampled 10 times a second: the peak may have been missed."}}
	steady := pull.Pull{Kind: pull.Steady, Start: 5e9, End: 15e9, PeakAt: 9e9, Peak: 31000, PeakLow: 30800, PeakHigh: 31200}
	light := steady
	light.Peak, light.PeakLow, light.PeakHigh = 8000, 7900, 8100
	for name, j := range map[string]*judgement{
		"kinetic-bridle": judgedAt(t, "kinetic-bridle", unit.Kilonewton, kinetic),
		"winch-redirect": judgedAt(t, "winch-redirect", unit.TonneF, steady, light),
		"mountings":      judgedAt(t, "mountings", unit.Kilonewton, kinetic),
		"no-pull":        judgedAt(t, "winch-redirect", unit.Kilonewton),
	} {
		for suffix, write := range map[string]func(*bytes.Buffer) error{
			".txt":  func(b *bytes.Buffer) error { return j.writeText(b) },
			".json": func(b *bytes.Buffer) error { return withoutRecord(j, b) },
		} {
			var out bytes.Buffer
			require.NoError(t, write(&out))
			file := filepath.Join("testdata", "judge", name+suffix)
			if *updateJudge {
				require.NoError(t, os.WriteFile(file, out.Bytes(), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, string(want), out.String(), "%s; if the change is meant: go test ./cmd/tautlog -run TestJudgeGolden -update-judge", file)
		}
	}
}

// withoutRecord writes the JSON without what the pulls command writes just the
// same, which has its own tests.
func withoutRecord(j *judgement, b *bytes.Buffer) error {
	var full bytes.Buffer
	if err := j.writeJSON(&full); err != nil {
		return err
	}
	record, err := json.Marshal(pull.Record{})
	if err != nil {
		return err
	}
	var doc map[string]any
	var own map[string]any
	if err := errors.Join(json.Unmarshal(full.Bytes(), &doc), json.Unmarshal(record, &own)); err != nil {
		return err
	}
	delete(doc, "trace")
	for _, p := range doc["pulls"].([]any) {
		for key := range own {
			delete(p.(map[string]any), key)
		}
	}
	e := json.NewEncoder(b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}

func TestJudgeTextFitsATerminal(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	p := pull.Pull{Kind: pull.Kinetic, Peak: 41000, PeakLow: 40800, PeakHigh: 48900}
	require.NoError(t, judgedAt(t, "kinetic-bridle", unit.Kilonewton, p).writeText(&out))
	for line := range strings.Lines(out.String()) {
		assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimRight(line, "\n")), 80, line)
		assert.NotRegexp(t, `[0-9]$`, strings.TrimRight(line, "\n"), "a number keeps its unit on its line")
		assert.NotContains(t, line, "\u00a0")
		assert.NotContains(t, line, "\x1b", "no colour")
	}
}

// halfSine writes a trace at 1 kHz: a quiet line with a little noise, and one
// pulse of half a sine of this peak in kN that lasts half a second.
func halfSine(t *testing.T, peak float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("t_s,force_kN\n")
	for i := range 10000 {
		s := float64(i) / 1000
		f := 0.01 * math.Sin(12.9898*float64(i)+78.233*math.Sin(float64(i)))
		if s > 4 && s < 4.5 {
			f += peak * math.Sin(math.Pi*(s-4)/0.5)
		}
		fmt.Fprintf(&b, "%.3f,%.5f\n", s, f)
	}
	file := filepath.Join(t.TempDir(), "trace.csv")
	require.NoError(t, os.WriteFile(file, []byte(b.String()), 0o600))
	return file
}

// From a trace file and a rig file to the verdicts, through the command line.
func TestJudgeFindsThePullAndJudgesIt(t *testing.T) {
	t.Parallel()
	var out, errs bytes.Buffer
	code := run(context.Background(), []string{"judge", halfSine(t, 41), "--rig", "../../testdata/rigs/kinetic-bridle.json", "--json"}, nil, &out, &errs)
	require.Equal(t, 0, code, errs.String())
	assert.Empty(t, errs.String())
	var doc judgeRecord
	require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
	require.Len(t, doc.Pulls, 1)
	p := doc.Pulls[0]
	assert.InEpsilon(t, 41000, p.Peak, 0.005)
	assert.Equal(t, p.Items[0].Verdict, p.Verdict)
	verdicts := map[string]rating.Verdict{}
	for _, it := range p.Items {
		verdicts[it.Name] = it.Verdict
	}
	assert.Equal(t, rating.Over, verdicts["blue strap 9 m"], "41 kN on 8 t MBS over a design factor of 2")
	assert.Equal(t, rating.Inside, verdicts["bow shackle 12"], "41 kN on 4.75 t")
	assert.Equal(t, rating.NotJudged, verdicts["soft shackle green"], "stamped without a basis")
	assert.Equal(t, rating.NotRated, verdicts["Otter front left point"], "a pair, if the bridle does not equalise")
	assert.NotEmpty(t, doc.Cautions)
}

// A trace of each cell of a rig with two: every item is judged by the cell that
// tells of it.
func TestJudgeWithTwoCells(t *testing.T) {
	t.Parallel()
	var out, errs bytes.Buffer
	args := []string{"judge", halfSine(t, 21), "--rig", "../../testdata/rigs/two-cells.json", "--cell", "River-2", "--second", halfSine(t, 30), "--json"}
	require.Equal(t, 0, run(context.Background(), args, nil, &out, &errs), errs.String())
	var doc judgeRecord
	require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
	require.Len(t, doc.Pulls, 1)
	p := doc.Pulls[0]
	require.NotNil(t, p.Second)
	assert.Equal(t, "River-1", p.Second.Cell)
	assert.InEpsilon(t, 30000, p.Second.Peak, 0.005)
	carried := map[string]float64{}
	for _, it := range p.Items {
		require.NotNil(t, it.Carried, it.Name)
		carried[it.Name] = *it.Carried
	}
	assert.InEpsilon(t, 30000, carried["Otter front left point"], 0.005)
	assert.InEpsilon(t, 21000, carried["Otter front right point"], 0.005)
	assert.InEpsilon(t, math.Sqrt(30*30+21*21+30*21)*1000, carried["blue strap 9 m"], 0.005, "√(a² + b² + 2ab cos 60°)")

	out.Reset()
	require.Equal(t, 0, run(context.Background(), args[:6], nil, &out, &errs), errs.String())
	assert.Contains(t, out.String(), "cannot be judged: Otter front left point", "one cell tells nothing of the other leg")
}

func TestJudgeExitCodes(t *testing.T) {
	t.Parallel()
	bad := filepath.Join(t.TempDir(), "bad.json")
	require.NoError(t, os.WriteFile(bad, []byte(`{"chain":[]}`), 0o600))
	for _, c := range []struct {
		want int
		args []string
	}{
		{2, []string{"judge", "trace.csv"}},
		{2, []string{"judge", "--rig", bad}},
		{1, []string{"judge", "trace.csv", "--rig", bad}},
		{2, []string{"judge", "trace.csv", "--rig", "../../testdata/rigs/two-cells.json"}},
		{2, []string{"judge", "trace.csv", "--rig", "../../testdata/rigs/two-cells.json", "--cell", "River-9"}},
		{2, []string{"judge", "trace.csv", "--rig", "../../testdata/rigs/kinetic-bridle.json", "--second", "other.csv"}},
		{1, []string{"judge", "nowhere.csv", "--rig", "../../testdata/rigs/kinetic-bridle.json"}},
	} {
		var out, errs bytes.Buffer
		assert.Equal(t, c.want, run(context.Background(), c.args, nil, &out, &errs), c.args)
		assert.Empty(t, out.String())
		assert.Equal(t, 1, strings.Count(errs.String(), "\n"), "one clear line: %s", errs.String())
	}
}
