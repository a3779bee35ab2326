package kinetic_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
)

// document is a record as those who read the JSON see it.
func document(t *testing.T, p kinetic.Plan) map[string]any {
	t.Helper()
	b, err := json.Marshal(calculated(t, p).Record())
	require.NoError(t, err)
	var d map[string]any
	require.NoError(t, json.Unmarshal(b, &d))
	return d
}

func TestRecord(t *testing.T) {
	t.Parallel()
	p := ordinary()
	p.Attempts, p.Stiffening = 3, 0.05
	out, d := calculated(t, p), document(t, p)
	assert.Equal(t, "integration", d["method"])
	assert.InDelta(t, float64(out.Peak), d["peak_N"], 0)
	assert.InDelta(t, float64(out.Peak)/(3200*9.80665), d["multiplier"], 1e-12)
	assert.InDelta(t, float64(out.Push.Drive), d["drive_N"], 0)
	assert.InDelta(t, 20e3, d["drive_asked_N"], 0)
	assert.Equal(t, true, d["drive_capped"])
	assert.InDelta(t, 1.1*50e3/1.8, d["stiffness_N_per_m"], 1e-9)
	assert.InDelta(t, 0.85*110e3, d["strap_strength_N"], 1e-9)
	require.Len(t, d["attempts"], 3)
	third := d["attempts"].([]any)[2].(map[string]any)
	assert.InDelta(t, 1.05*1.05, third["stiffer"], 1e-12)
	assert.InDelta(t, float64(out.Attempts[2].Peak)/93.5e3, third["strap_share"], 1e-12)
	assert.Len(t, d["rebounds"], len(out.Rebounds))
}

// What is not known is null, and a list without entries is a list.
func TestRecordOfWhatIsNotKnown(t *testing.T) {
	t.Parallel()
	d := document(t, kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 2, Fixed: true, Strap: kinetic.Strap{Points: []kinetic.Point{{1, 60e3}}}})
	for _, key := range []string{"stiffness_N_per_m", "strap_strength_N", "strap_share", "keep_out_m", "grip_limit_N"} {
		value, there := d[key]
		assert.True(t, there, key)
		assert.Nil(t, value, key)
	}
	assert.Equal(t, []any{}, d["rebounds"])
	assert.Equal(t, "formula", document(t, kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 2, Fixed: true, Strap: kinetic.Strap{Stiffness: 5e4}})["method"])
}
