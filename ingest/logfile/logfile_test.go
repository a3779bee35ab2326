package logfile_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/logfile"
	"tautlog/ingest/store"
)

// rows are three pulls of one peak: the stuck vehicle was weighed, and how well
// is known; only its GVM is known; nothing is.
func rows() []logfile.Row {
	mass := func(m unit.Mass) *unit.Mass { return &m }
	var out []logfile.Row
	for _, v := range []gear.Vehicle{
		{Name: "a", GVM: mass(3100), Weighed: mass(3000), WeighedWithin: mass(60)},
		{Name: "b", GVM: mass(3000)}, {Name: "c"},
	} {
		p := store.Pull{
			Found: pull.Pull{Start: 1e9, End: 3e9, Kind: pull.Kinetic, Peak: 40e3, PeakLow: 39e3, PeakHigh: 44e3, Flags: []string{}},
			Kind:  pull.Kinetic, Rig: &rig.Rig{Name: "r", Stuck: v}, Settled: true,
		}
		fit := shock.FromLog(shock.Logged{ID: "pull " + v.Name, Day: "2026-05-17", Kind: p.Kind, Rig: p.Rig, Found: p.Found})
		out = append(out, logfile.Row{Pull: p, Fit: fit, Cell: "River-1"})
	}
	return out
}

func written(t *testing.T, form logfile.Form) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, logfile.Write(&out, form, func(use func(logfile.Row) error) error {
		for _, r := range rows() {
			if err := use(r); err != nil {
				return err
			}
		}
		return nil
	}))
	return out.Bytes()
}

// factors are the shock factors of rows, worked out by hand: a relative half
// width of ln(40/39) and half of ln(3060/2940) below, of ln(44/40) and the same
// above, squares added.
var factors = []map[string]string{
	{"reference_low_kg": "2940", "reference_high_kg": "3060", "shock_factor": "1.3596", "shock_factor_low": "1.3167", "shock_factor_high": "1.4989", "shock_factor_of_mass": "true"},
	{"reference_low_kg": "", "reference_high_kg": "", "shock_factor": "1.3596", "shock_factor_low": "1.3256", "shock_factor_high": "1.4955", "shock_factor_of_mass": "false"},
	{"reference_low_kg": "", "reference_high_kg": "", "shock_factor": "", "shock_factor_low": "", "shock_factor_high": "", "shock_factor_of_mass": "false"},
}

func TestFactorsInTheTable(t *testing.T) {
	t.Parallel()
	text := written(t, logfile.CSV)
	all, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	require.Len(t, all, 4)
	for i, want := range factors {
		for c, name := range all[0] {
			if w, ok := want[name]; ok {
				got := all[i+1][c]
				assert.Equal(t, w, got[:min(len(w), len(got))], "%d: %s is %s", i, name, got)
			}
		}
	}
	again, err := shock.Decode(bytes.NewReader(text), false)
	require.NoError(t, err)
	for i, r := range rows() {
		again[i].Line = r.Fit.Line
		assert.Equal(t, r.Fit.FactorInterval(), again[i].FactorInterval())
		assert.Equal(t, r.Fit.ReferenceHigh, again[i].ReferenceHigh)
	}
}

// TestTableHoldsNoFormula writes a pull of which every text is one that a
// spreadsheet would calculate: none is in the table, and a fit reads the texts
// back as they were.
func TestTableHoldsNoFormula(t *testing.T) {
	t.Parallel()
	const formula = "=WEBSERVICE(A1)"
	r := rows()[0]
	r.Cell, r.Pull.Rig.Name, r.Pull.Notes, r.Pull.Depth, r.Pull.Limits = formula, formula, formula, formula, &store.Limits{Who: formula}
	r.Fit.ID, r.Fit.Class.Ground, r.Fit.Class.Strap, r.Fit.Remark, r.Fit.Flags = formula, formula, formula, formula, []string{formula}
	var out bytes.Buffer
	require.NoError(t, logfile.Write(&out, logfile.CSV, func(use func(logfile.Row) error) error { return use(r) }))
	all, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
	require.NoError(t, err)
	marked := 0
	for i, cell := range all[1] {
		assert.NotRegexp(t, "^=", cell, all[0][i])
		if cell == "'"+formula {
			marked++
		}
	}
	assert.Equal(t, 10, marked, "%q", all[1])
	again, err := shock.Decode(&out, false)
	require.NoError(t, err)
	assert.Equal(t, []any{formula, r.Fit.Class, formula, []string{formula}}, []any{again[0].ID, again[0].Class, again[0].Remark, again[0].Flags})
}

func TestFactorsInTheOthers(t *testing.T) {
	t.Parallel()
	var doc struct{ Pulls []map[string]any }
	require.NoError(t, json.Unmarshal(written(t, logfile.JSON), &doc))
	type flat struct {
		Low    *float64 `parquet:"shock_factor_low"`
		High   *float64 `parquet:"shock_factor_high"`
		OfMass bool     `parquet:"shock_factor_of_mass"`
	}
	text := written(t, logfile.Parquet)
	flats, err := parquet.Read[flat](bytes.NewReader(text), int64(len(text)))
	require.NoError(t, err)
	require.Len(t, doc.Pulls, 3)
	require.Len(t, flats, 3)
	for i, r := range rows() {
		between := r.Fit.FactorInterval()
		assert.Equal(t, between.OfMass, doc.Pulls[i]["shock_factor_of_mass"])
		assert.Equal(t, between.OfMass, flats[i].OfMass)
		if i == 2 {
			assert.Nil(t, doc.Pulls[i]["shock_factor_low"])
			assert.Nil(t, flats[i].High)
			continue
		}
		assert.Equal(t, between.Low, doc.Pulls[i]["shock_factor_low"])
		assert.Equal(t, between.High, doc.Pulls[i]["shock_factor_high"])
		assert.Equal(t, between.Low, *flats[i].Low)
		assert.Equal(t, between.High, *flats[i].High)
	}
}
