package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// updateGear rewrites the golden files of the life of an item:
//
//	go test ./cmd/tautlog -run GearLife -update-gear
var updateGear = flag.Bool("update-gear", false, "rewrite the golden files of the life of an item")

// gearStore is a store with a strap of 100 kN that may carry three pulls, a
// shackle in quarantine, and four pulls of both, the last of which two cells
// saw.
func gearStore(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	s, err := store.Open(dir, store.Options{Now: func() time.Time { return time.Date(2026, 5, 17, 12, 0, 0, 0, time.UTC) }})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	three, twelve, two := 3, 12, 2.0
	strap := gear.Item{
		ID: "S-1", Name: "blue strap 9 m", Kind: gear.RecoveryStrap, Made: "2024-05-17",
		Ratings: []gear.Rating{{Value: 100e3, Basis: gear.MBS, DesignFactor: &two, FactorFrom: gear.FactorOwner}},
		Life: gear.Life{
			RetireRule: &gear.RetireRule{MaxPulls: &three}, InspectEvery: &twelve,
			Inspections: []gear.Inspection{{Date: "2026-05-01", Who: "A. Keeper", Result: gear.Watch, Notes: "a pulled thread", Photos: []string{"thread.jpg"}}},
		},
	}
	shackle := gear.Item{ID: "B-2", Name: "bow shackle 2", Kind: gear.BowShackle, Ratings: []gear.Rating{{Value: 30e3, Basis: gear.WLL}}, Life: gear.Life{Quarantined: &gear.Withdrawal{Date: "2026-05-16", Reason: "pin is stiff", Who: "A. Keeper"}}}
	other := gear.Item{ID: "S-9", Name: "red strap 5 m", Kind: gear.RecoveryStrap}
	for _, it := range []gear.Item{strap, shackle, other} {
		_, err := s.SaveItem(t.Context(), store.Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
	cells := map[string]int64{}
	for _, name := range []string{"River-1", "River-2"} {
		c, err := s.SaveCell(t.Context(), store.Cell{Name: name})
		require.NoError(t, err)
		cells[name] = c.ID
	}
	load := func(name string) rig.Link { return rig.InLine(gear.Item{Name: name, Kind: gear.LoadCell}) }
	one := rig.Rig{Name: "line", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: []rig.Link{load("River-1"), rig.InLine(strap), rig.InLine(shackle)}}
	both := one
	both.Name, both.Chain = "line with two cells", append(append([]rig.Link{}, one.Chain...), load("River-2"))
	for _, p := range []struct {
		cell  string
		rig   *rig.Rig
		at    time.Duration
		peak  unit.Force
		times int
	}{
		{"River-1", &one, 0, 20e3, 2}, {"River-1", &one, time.Hour, 60e3, 0}, {"River-1", &one, 2 * time.Hour, 31e3, 1},
		{"River-1", &both, 3 * time.Hour, 40e3, 3}, {"River-2", &both, 3*time.Hour + 50*time.Millisecond, 41e3, 2},
	} {
		at := time.Date(2026, 5, 17, 8, 0, 0, 0, time.UTC).Add(p.at).UnixNano()
		found := pull.Pull{Start: at, End: at + 2e9, Kind: pull.Kinetic, Peak: p.peak, PeakLow: 0.99 * p.peak, PeakHigh: 1.03 * p.peak, PeakAt: at + 1e9, Rebounds: p.times, Flags: []string{}, Remarks: []string{}}
		_, err := s.SavePull(t.Context(), store.Pull{Cell: cells[p.cell], Rig: p.rig, Found: found, Ground: "silt", Settled: true})
		require.NoError(t, err)
	}
	return dir
}

func tell(t *testing.T, want int, args ...string) (stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	require.Equal(t, want, run(context.Background(), args, nil, &out, &errs), "%v: %s%s", args, out.String(), errs.String())
	return out.String(), errs.String()
}

// TestGearLife tells the life of the strap in words: what its page tells.
func TestGearLife(t *testing.T) {
	t.Parallel()
	dir := gearStore(t)
	said, _ := tell(t, 0, "gear", "life", "blue strap", "--data", dir, "--on", "2026-05-17")
	for _, say := range []string{
		"blue strap 9 m (S-1), recovery strap.", "In use.", "It carried 4 pulls; the owner retires it after 3.", "The owner's rule: after 3 pulls.",
		"Age: 2.0 years.", "Last inspected 1 May 2026; due again by 1 May 2027.", "Pulls: 4, load cycles: 10.", "Largest load: 60 kN, 60 % of its breaking strength,",
		"Above half of its breaking strength: 1 pull, at the upper end of the interval 1.", "2026-05-01: watch, by A. Keeper, 1 photo.", "a pulled thread",
		"the same as pull 5 of the other cell.", "Cautions:",
	} {
		assert.Contains(t, strings.Join(strings.Fields(said), " "), say)
	}
	for line := range bytes.Lines([]byte(said)) {
		assert.LessOrEqual(t, len([]rune(string(line))), 81, "%s", line)
	}
	said, _ = tell(t, 0, "gear", "life", "B-2", "--data", dir, "--show", "t")
	assert.Contains(t, said, "In quarantine since 16 May 2026 by A. Keeper: Pin is stiff.")
	assert.Contains(t, said, "t is tonne-force.")
	_, refused := tell(t, 1, "gear", "life", "strap", "--data", dir)
	assert.Contains(t, refused, `several items have "strap": write the number of one, of S-1, S-9`)
	_, refused = tell(t, 1, "gear", "life", "winch", "--data", dir)
	assert.Contains(t, refused, `the register has no item "winch"; see: tautlog gear list`)
	for _, wrong := range [][]string{{"gear"}, {"gear", "lend"}, {"gear", "life"}, {"gear", "life", "a", "b"}, {"gear", "life", "--schema", "a"}, {"gear", "list", "a"}, {"gear", "list", "--kind", "rope ladder"}, {"gear", "life", "a", "--on", "May"}} {
		tell(t, 2, wrong...)
	}
	_, refused = tell(t, 1, "gear", "list", "--data", filepath.Join(dir, "none"))
	assert.Contains(t, refused, "there is no store here")
}

// TestGearList names what to look at first, as the page of gear does.
func TestGearList(t *testing.T) {
	t.Parallel()
	dir := gearStore(t)
	said, _ := tell(t, 0, "gear", "list", "--data", dir, "--on", "2026-05-17")
	assert.Contains(t, said, "B-2, bow shackle 2, bow shackle: in quarantine, 4 pulls, at most 60 kN.")
	assert.Contains(t, said, "S-9, red strap 5 m, recovery strap: in use, no pulls.")
	var doc struct {
		Items []struct {
			ID       string
			Pulls    int
			MostN    float64 `json:"most_N"`
			Troubles []string
		}
	}
	said, _ = tell(t, 0, "gear", "list", "--trouble", "--json", "--data", dir, "--on", "2026-05-17", "--kind", "recovery strap")
	require.NoError(t, json.Unmarshal([]byte(said), &doc))
	require.Len(t, doc.Items, 1)
	assert.Equal(t, "S-1", doc.Items[0].ID)
	assert.Equal(t, 4, doc.Items[0].Pulls)
	assert.InDelta(t, 60e3, doc.Items[0].MostN, 1e-6)
	require.Len(t, doc.Items[0].Troubles, 2)
	assert.Regexp(t, `^It may have carried more than 50 kN, the lowest number that it is rated for, last on 1\d May 2026; no inspection since then is recorded\.$`, doc.Items[0].Troubles[0])
	assert.Equal(t, "It carried 4 pulls; the owner retires it after 3.", doc.Items[0].Troubles[1])
}

// TestGearLifeWritesWhatItsSchemaSays, key by key, and what it wrote before.
func TestGearLifeWritesWhatItsSchemaSays(t *testing.T) {
	t.Parallel()
	dir := gearStore(t)
	schema, _ := tell(t, 0, "gear", "life", "--schema")
	open, strict := parsed(t, schema), parsed(t, schema)
	closed(strict)
	for _, id := range []string{"S-1", "B-2", "S-9"} {
		doc, _ := tell(t, 0, "gear", "life", id, "--json", "--data", dir, "--on", "2026-05-17")
		assert.NoError(t, schemaOf(t, open).Validate(parsed(t, doc)), id)
		assert.NoError(t, schemaOf(t, strict).Validate(parsed(t, doc)), "%s: a key without a description", id)
		golden := filepath.Join("testdata", "gear", id+".json")
		if *updateGear {
			require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
			require.NoError(t, os.WriteFile(golden, []byte(doc), 0o644))
		}
		want, err := os.ReadFile(golden)
		require.NoError(t, err)
		assert.JSONEq(t, string(want), doc)
		for name, spoil := range map[string]func(map[string]any){
			"no cautions":        func(d map[string]any) { delete(d, "cautions") },
			"another state":      func(d map[string]any) { d["state"] = "fine" },
			"a force with words": func(d map[string]any) { d["largest_N"] = "60 kN" },
			"no rule":            func(d map[string]any) { delete(d, "rule") },
			"pulls of another":   func(d map[string]any) { d["each"] = []any{map[string]any{"pull": "one"}} },
		} {
			var d map[string]any
			require.NoError(t, json.Unmarshal([]byte(doc), &d))
			spoil(d)
			assert.Error(t, schemaOf(t, open).Validate(d), "%s, %s", name, id)
		}
	}
	doc, _ := tell(t, 0, "gear", "life", "S-1", "--json", "--data", dir, "--on", "2026-05-17", "--show", "lbf")
	var numbers struct {
		Largest float64 `json:"largest_N"`
		Each    []struct{ Pull int64 }
	}
	require.NoError(t, json.Unmarshal([]byte(doc), &numbers))
	assert.InDelta(t, 60e3, numbers.Largest, 1e-6, "the unit changes sentences only")
	assert.Equal(t, []struct{ Pull int64 }{{4}, {3}, {2}, {1}}, numbers.Each, "the latest first; the strap is next to the first cell")
}
