package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// riverBar is a set of pulls on mud whose factors are 1, 1.1, 1.2, 1.3 and 1.4
// on each of six days.
func riverBar() shock.Kept {
	var pulls []shock.Pull
	for i := range 30 {
		pulls = append(pulls, shock.Pull{
			Line: i + 1, Day: fmt.Sprint(i / 5), Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"},
			Peak: unit.Force(1+0.1*float64(i%5)) * unit.Mass(3000).Weight(), Reference: 3000,
		})
	}
	return shock.Keep("river bar", pulls)
}

const ropeRig = `{"name": "One rope", "pulling": {"name": "Heron", "weighed": "2.8t"}, "stuck": {"name": "Otter", "gvm": "2.8t"}, "chain": [
  {"item": {"name": "red rope 9 m", "kind": "kinetic rope", "length": "9m", "stiffness": "60kN/m", "ratings": [{"value": "45kN", "basis": "WLL"}]}}]}`

// A set that is kept in a store is planned with: by its name, or because it
// was chosen.
func TestPlanKineticWithAKeptSet(t *testing.T) {
	t.Parallel()
	ctx, dir := context.Background(), t.TempDir()
	rigFile := filepath.Join(dir, "rig.json")
	require.NoError(t, os.WriteFile(rigFile, []byte(ropeRig), 0o600))
	db, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	defer db.Close()
	set, err := db.SaveSet(ctx, riverBar())
	require.NoError(t, err)
	m, ok := set.Multiplier(shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"})
	require.True(t, ok)
	assert.InDelta(t, math.Pow(1*1.1*1.2*1.3*1.4, 1./5), *m.Median, 0.005, "the geometric mean")

	plan := func(want int, more ...string) map[string]any {
		var out, errs bytes.Buffer
		args := append([]string{"plan", "kinetic", "--rig", rigFile, "--data", dir, "--speed", "9km/h", "--ground", "mud", "--json"}, more...)
		require.Equal(t, want, run(ctx, args, nil, &out, &errs), errs.String())
		if want != 0 {
			return map[string]any{"error": errs.String()}
		}
		doc := map[string]any{}
		require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
		return doc
	}
	assert.Equal(t, map[string]any{"name": "rule of thumb", "version": 0.0}, plan(0)["with"], "nothing is chosen yet")
	_, err = db.PlanWith(ctx, "river bar", 0)
	require.NoError(t, err)
	for _, doc := range []map[string]any{plan(0, "--highest-speed"), plan(0, "--with", "river bar@1", "--highest-speed")} {
		assert.Equal(t, map[string]any{"name": "river bar", "version": 1.0}, doc["with"])
		assert.Equal(t, "kinetic rope", doc["strap"])
		assert.InEpsilon(t, m.Upper*2800*unit.StandardGravity, doc["planning_peak_N"], 1e-9)
		assert.InEpsilon(t, *m.Median*2800*unit.StandardGravity, doc["expected_peak_N"], 1e-9)
		// Held fast, the peak is v·√(k·m): the limit of 45 kN by the bound is at
		// that speed over the bound's ratio to the median.
		fast := 45e3 / math.Sqrt(60e3*2800)
		assert.InDelta(t, fast, doc["highest_speed_expected_mps"], 2e-6)
		assert.InDelta(t, fast**m.Median/m.Upper, doc["highest_speed_mps"], 2e-6)
	}
	assert.Contains(t, plan(1, "--with", "delta@2")["error"], "has no set delta@2; it has rule of thumb, river bar@1")
}
