package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// twoCells is the rig of the manual with a cell in each leg of a bridle.
func twoCells(t *testing.T) rig.Rig {
	t.Helper()
	file, err := os.Open("../../testdata/rigs/two-cells.json")
	require.NoError(t, err)
	defer file.Close()
	g, err := rig.Decode(file)
	require.NoError(t, err)
	return g
}

// TestPullOfTwoCells: a logged pull is judged by both cells of its rig as soon
// as the store has the pull of the other one, whichever is looked at; until
// then by one, and the page says so. 30 and 30 kN at 60° make 52 kN.
func TestPullOfTwoCells(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	g := twoCells(t)
	second, err := f.store.SaveCell(t.Context(), store.Cell{Name: "River-2", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Rate: 1000})
	require.NoError(t, err)
	at := found()
	at.Start, at.End, at.PeakAt = at.Start+60e9, at.End+60e9, at.PeakAt+60e9
	at.Peak, at.PeakLow, at.PeakHigh = 30e3, 29.5e3, 30.5e3
	p, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: at, Rig: &g, Settled: true})
	require.NoError(t, err)
	path := fmt.Sprintf("/pulls/%d", p.ID)
	alone := spoken(f.page(t, path))
	assert.Contains(t, alone, "There is no pull of River-2 at that moment: everything is judged by River-1 alone.")
	assert.Contains(t, alone, "Otter front right point: cannot be judged")

	at.Start, at.Peak, at.PeakLow, at.PeakHigh = at.Start+2e8, 30.2e3, 29.9e3, 30.4e3
	q, err := f.store.SavePull(t.Context(), store.Pull{Cell: second.ID, Found: at, Settled: true})
	require.NoError(t, err)
	both := spoken(f.page(t, path))
	assert.NotContains(t, both, "There is no pull of")
	assert.Contains(t, both, fmt.Sprintf("The same pull at River-2: pull %d", q.ID))
	assert.Contains(t, both, "Otter front right point: inside rating")
	assert.Contains(t, both, "It carried at most 52")
	assert.Contains(t, both, "River-2 read 30.20 kN (true peak 29.90 to 30.40) at its peak.")
	picture := f.page(t, path)
	assert.Contains(t, picture, ">30.00 kN</text>", "each cell shows what it read")
	assert.Contains(t, picture, ">30.20 kN</text>")

	var doc struct {
		Beside int64
		Items  []struct{ Name, Verdict string }
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api"+path)), &doc))
	assert.Equal(t, q.ID, doc.Beside)
	for _, it := range doc.Items {
		assert.NotEqual(t, "cannot be judged", it.Verdict, it.Name)
	}
	assert.NotContains(t, spoken(f.page(t, "/line?cell=River-1")), "There is no pull of")
	assert.Contains(t, spoken(f.page(t, fmt.Sprintf("/pulls/%d", q.ID))), "No rig")
}

// TestStreamTellsOfTheOtherCell: two cells read the same pull live. The page of
// the first is told again when the second one has it, and then shows both.
func TestStreamTellsOfTheOtherCell(t *testing.T) {
	t.Parallel()
	st := newStation(t, "River-2")
	saved, err := st.store.SaveRig(t.Context(), document(twoCells(t)))
	require.NoError(t, err)
	_, err = st.store.SetSetup(t.Context(), store.Setup{Cell: st.cell.ID, Rig: saved.ID})
	require.NoError(t, err)
	told := map[int64]int{}
	listen(t, st.url("/api/live?cell=River-1"), func(e event) bool {
		st.pull() // now that news of it are heard
		if e.name != "pull" {
			return true
		}
		var p struct{ ID int64 }
		require.NoError(t, json.Unmarshal(e.data, &p))
		told[p.ID]++
		q, ok, err := st.store.PullBeside(t.Context(), mustPull(t, st, p.ID))
		require.NoError(t, err)
		if !ok {
			return true
		}
		res, err := http.Get(st.url(fmt.Sprintf("/pulls/%d/result", p.ID))) //nolint:noctx // the test's own limit ends it
		require.NoError(t, err)
		assert.Contains(t, spoken(bodyOf(t, res)), fmt.Sprintf("The same pull at River-2: pull %d", q.ID))
		return false
	})
	assert.NotEmpty(t, told)
}

func mustPull(t *testing.T, st *station, id int64) store.Pull {
	t.Helper()
	p, err := st.store.Pull(t.Context(), id)
	require.NoError(t, err)
	return p
}
