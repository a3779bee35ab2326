package shock_test

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
)

func keys(t *testing.T, document any) map[string]json.RawMessage {
	t.Helper()
	text, err := json.Marshal(document)
	require.NoError(t, err)
	var m map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(text, &m))
	return m
}

// TestRecordKeys: the keys that other programs rely on are there.
func TestRecordKeys(t *testing.T) {
	t.Parallel()
	c := newClub(rand.New(rand.NewPCG(31, 1)))
	s := shock.Fit(c.pulls)
	r := s.Record()
	assert.Subset(t, keysOf(keys(t, r)), []string{"classes", "left_out", "outliers", "flagged", "multiplier_of"})
	assert.Subset(t, keysOf(keys(t, r.Classes[0])), []string{"kind", "ground", "strap", "pulls", "days", "median", "upper_95_95", "pooled"})
	assert.Subset(t, keysOf(keys(t, s.Check(3, func(shock.Class) bool { return true }).Record())),
		[]string{"answer", "pulls", "above", "share_low", "share_high", "upper_95_95", "more_pulls_needed", "sentence", "model_share"})
	assert.JSONEq(t, "[]", string(keys(t, shock.Set{}.Record())["classes"]))

	f, out := shock.FitSpeed(withSpeed(t, rand.New(rand.NewPCG(31, 2)), 40, 6, 0, 0.1))
	speed := shock.RecordSpeed(f, out)
	assert.Subset(t, keysOf(keys(t, speed)), []string{"straps", "grounds", "pulls", "days", "residual_sd_log", "left_out"})
	assert.Nil(t, shock.RecordSpeed(nil, nil))
}

func keysOf(m map[string]json.RawMessage) (names []string) {
	for name := range m {
		names = append(names, name)
	}
	return names
}

// TestModelShareBesideTheCount: the share by the fit lies within its limits,
// is near the count where there are many pulls, and falls as more is assumed.
func TestModelShareBesideTheCount(t *testing.T) {
	t.Parallel()
	c := newClub(rand.New(rand.NewPCG(31, 3)))
	for _, f := range shock.Fit(c.pulls).Classes {
		before := 1.0
		for _, x := range []float64{0.5, 1, 1.5, 2, 3, 5} {
			share, low, high, ok := f.ShareAbove(x)
			require.True(t, ok)
			assert.True(t, 0 <= low && low <= share && share <= high && high <= 1, "%g: %g in %g to %g", x, share, low, high)
			assert.LessOrEqual(t, share, before)
			before = share
		}
	}
}

// What is known of an unknown of the speed fit decides the words: with the
// upper limit alone left open as well.
func TestWordsOfACoefficient(t *testing.T) {
	t.Parallel()
	low, high := 0.21, 0.93
	for _, c := range []struct {
		is   shock.CoefficientRecord
		want string
	}{
		{shock.CoefficientRecord{Value: 0.5, Low: &low, High: &high}, "0.50, 95 % interval 0.21 to 0.93"},
		{shock.CoefficientRecord{Value: 0.5, Low: &low}, "0.50, at least 0.21 with 95 % confidence: the pulls leave open whether anything moved"},
		{shock.CoefficientRecord{Value: 0.5}, "0.50, too few days for an interval"},
		{shock.CoefficientRecord{Value: 0.5, Still: true}, "at least 0.50: nothing moved before the peak"},
	} {
		assert.Equal(t, c.want, c.is.Words())
	}
}
