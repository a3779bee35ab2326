package bound_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tautlog/calc/unit"
	"tautlog/dashboards/bound"
)

func TestText(t *testing.T) {
	for in, want := range map[string]string{
		"40.0 kN (true peak 39.8 to 40.9)": "40.0_kN (true peak 39.8 to 40.9)",
		"82.20 ± 0.27 kN, 61 % of it":      "82.20_±_0.27_kN, 61_% of it",
		"12.7 kN·s to the peak":            "12.7_kN·s to the peak",
		"99 ± 5 kN/s":                      "99_±_5_kN/s",
		"8 km/h, 3 m, 12 mm.":              "8_km/h, 3_m, 12_mm.",
		"5 metres, 3 times, 4 turns":       "5 metres, 3 times, 4 turns",
		"pull 3 the next":                  "pull 3 the next",
		"a t, the m":                       "a t, the m",
		"± 3 alone, a ± b":                 "± 3 alone, a ± b",
		"":                                 "",
	} {
		assert.Equal(t, want, strings.ReplaceAll(bound.Text(in), bound.Space, "_"))
	}
}

func TestMarkup(t *testing.T) {
	in := `<p title="9 m > 3 kN">9 m<b>3 kN</b></p><input value="9 m"><option>9 m</option><textarea>9 m</textarea><svg><text>9 m</text></svg><pre>9 m</pre> 9 m`
	want := `<p title="9 m > 3 kN">9_m<b>3_kN</b></p><input value="9 m"><option>9 m</option><textarea>9 m</textarea><svg><text>9 m</text></svg><pre>9 m</pre> 9_m`
	assert.Equal(t, want, strings.ReplaceAll(string(bound.Markup([]byte(in))), bound.Space, "_"))
}

// Nothing but spaces changes, whatever a page holds.
func TestOnlySpacesChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.SliceOf(rapid.SampledFrom([]string{"<b>", "</b>", "9", " ", "kN", "%", "±", "<svg>", "</svg>", "<option", ">", "\"", "é", "<", "m"})).Draw(t, "pieces")
		in := strings.Join(pieces, "")
		assert.Equal(t, in, strings.ReplaceAll(string(bound.Markup([]byte(in))), bound.Space, " "))
		assert.Equal(t, in, strings.ReplaceAll(bound.Text(in), bound.Space, " "))
	})
}

// What a page says of a force in any unit, somebody can type.
func TestWhatIsBoundIsRead(t *testing.T) {
	for _, u := range []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF} {
		said := bound.Text(unit.Force(41230).Show(u, 0))
		assert.Contains(t, said, bound.Space)
		f, err := unit.ParseForce(said)
		assert.NoError(t, err)
		assert.InDelta(t, 41230, float64(f), 60)
	}
}
