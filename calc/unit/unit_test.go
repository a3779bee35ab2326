package unit_test

import (
	"encoding"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/unit"
)

// The definitions: 3rd CGPM (1901) for standard gravity; the international
// yard and pound agreement of 1959 for 0.45359237 kg and 0.3048 m.
func TestParse(t *testing.T) {
	force := func(s string) (float64, error) { v, err := unit.ParseForce(s); return float64(v), err }
	mass := func(s string) (float64, error) { v, err := unit.ParseMass(s); return float64(v), err }
	length := func(s string) (float64, error) { v, err := unit.ParseLength(s); return float64(v), err }
	speed := func(s string) (float64, error) { v, err := unit.ParseSpeed(s); return float64(v), err }
	angle := func(s string) (float64, error) { v, err := unit.ParseAngle(s); return float64(v), err }
	stiffness := func(s string) (float64, error) { v, err := unit.ParseStiffness(s); return float64(v), err }
	for _, c := range []struct {
		in   string
		read func(string) (float64, error)
		want float64
	}{
		{"12kN", force, 12000},
		{" 12 kN ", force, 12000},
		{"12\u00a0kN", force, 12000}, // as copied from a page or a report
		{"12\u202fkN", force, 12000},
		{"\u00a08\u00a0km/h", speed, 8 / 3.6},
		{"12kn", force, 12000},
		{"500kgf", force, 500 * 9.80665},
		{"2lbf", force, 2 * 4.4482216152605},
		{"1t", force, 9806.65},
		{"-3.5N", force, -3.5},
		{"1.5e3N", force, 1500},
		{"0kN", force, 0},
		{"3.2t", mass, 3200},
		{"3200kg", mass, 3200},
		{"1lb", mass, 0.45359237},
		{"9m", length, 9},
		{"30ft", length, 9.144},
		{"8km/h", speed, 8 / 3.6},
		{"10deg", angle, 10 * math.Pi / 180},
		{"60kN/m", stiffness, 60000},
	} {
		got, err := c.read(c.in)
		require.NoError(t, err, c.in)
		assert.InDelta(t, c.want, got, 1e-12*math.Abs(c.want), c.in)
	}
}

func TestRefuses(t *testing.T) {
	for in, reason := range map[string]error{
		"12":     unit.ErrNoUnit,
		"3.2":    unit.ErrNoUnit,
		"12kW":   unit.ErrUnknownUnit,
		"12 mN":  unit.ErrUnknownUnit,
		"1,2kN":  unit.ErrUnknownUnit,
		"kN":     unit.ErrNumber,
		"":       unit.ErrNumber,
		"NaNkN":  unit.ErrNumber,
		"infkN":  unit.ErrNumber,
		"1e999N": unit.ErrNumber,
		"1.2.3N": unit.ErrNumber,
		"1e308t": unit.ErrNumber,
	} {
		_, err := unit.ParseForce(in)
		require.ErrorIs(t, err, reason, in)
		assert.Contains(t, err.Error(), "kN, N, MN, kgf, t, tf, lbf", "the refusal lists the units")
	}
}

func TestAMassStampedAsARatingIsToldHowToWriteIt(t *testing.T) {
	for in, want := range map[string]string{"5000 kg": "5000kgf", "8500KG": "8500kgf", "4.75kg": "4.75kgf", "10000 lb": "10000lbf"} {
		_, err := unit.ParseForce(in)
		require.ErrorIs(t, err, unit.ErrUnknownUnit, in)
		assert.Contains(t, err.Error(), "write "+want)
		_, err = unit.ParseForce(want)
		require.NoError(t, err, "what is offered is read")
	}
}

// What is stamped on gear, in words of the trade: common practice, no source.
func TestStamped(t *testing.T) {
	for in, newtons := range map[string]float64{
		"8000 kg": 8000 * 9.80665, "8000kgf": 8000 * 9.80665, "47 kN": 47000, "4.75t": 4750 * 9.80665, "4 3/4 t": 4750 * 9.80665, "4-3/4t": 4750 * 9.80665,
		"3/4t": 750 * 9.80665, "9500 lb": 9500 * 0.45359237 * 9.80665, "12 1/2 t": 12500 * 9.80665,
	} {
		v, err := unit.ParseStamped(in)
		require.NoError(t, err, in)
		assert.InEpsilon(t, newtons, float64(v), 1e-12, in)
	}
	for _, in := range []string{"4.75", "4 3/4", "", "5 g", "3/0t", "0/4t", "1/10t", "4 3/4 kW", "4 3/4/2t"} {
		_, err := unit.ParseStamped(in)
		require.Error(t, err, in)
		assert.Contains(t, err.Error(), strconv.Quote(in), "the refusal repeats what was typed")
	}
}

func TestTextRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1e6, 1e6)).Draw(t, "value")
		back(t, unit.Force(v))
		back(t, unit.Mass(v))
		back(t, unit.Length(v))
		back(t, unit.Speed(v))
		back(t, unit.Angle(v))
		back(t, unit.Stiffness(v))
	})
}

// back reads a quantity back from its text.
func back[T comparable](t *rapid.T, v T) {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	var again T
	require.NoError(t, json.Unmarshal(b, &again), "%s", b)
	require.Equal(t, v, again, "%s", b)
}

// TestTextIsAsItWasTyped holds the texts of files against what people type.
func TestTextIsAsItWasTyped(t *testing.T) {
	typed(t, unit.ParseForce, "12kN", "500N", "4.75t", "17.6kN", "13200lbf", "8t", "0.5t", "0N", "-3N", "40kN")
	typed(t, unit.ParseMass, "3100kg", "6850lb", "0.25kg")
	typed(t, unit.ParseLength, "9m", "30ft", "12mm", "0.5m", "28m")
	typed(t, unit.ParseSpeed, "8km/h", "5mph", "2m/s")
	typed(t, unit.ParseAngle, "60deg", "0deg", "33deg", "22.5deg", "1.2rad")
	typed(t, unit.ParseStiffness, "60kN/m", "850N/m")
	// Every tenth of a degree and every hundredth of a tonne, as people give them.
	for i := range 3600 {
		typed(t, unit.ParseAngle, strconv.FormatFloat(float64(i)/10, 'f', -1, 64)+"deg")
	}
	for i := 101; i < 3000; i += 2 {
		typed(t, unit.ParseForce, strconv.FormatFloat(float64(i)/100, 'f', -1, 64)+"t")
	}
}

func typed[T encoding.TextMarshaler](t *testing.T, parse func(string) (T, error), texts ...string) {
	t.Helper()
	for _, s := range texts {
		v, err := parse(s)
		require.NoError(t, err)
		b, err := v.MarshalText()
		require.NoError(t, err)
		require.Equal(t, s, string(b))
	}
}

func TestRefusedTextKeepsTheOldValue(t *testing.T) {
	f := unit.Force(7)
	require.Error(t, f.UnmarshalText([]byte("12")))
	assert.Equal(t, unit.Force(7), f)
}

func TestShow(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{unit.Force(47312).String(), "47.3 kN"},
		{unit.Force(0).String(), "0 kN"},
		{unit.Force(-0.0001).Show(unit.Kilonewton, 10), "0.00 kN"},
		{unit.Force(123456).Show(unit.Kilonewton, 1000), "123 kN"},
		{unit.Force(123456).Show(unit.Newton, 1000), "123000 N"},
		{unit.Force(9806.65).Show(unit.TonneF, 0), "1 t"},
		{unit.Mass(3200).String(), "3.2 t"},
		{unit.Speed(8 / 3.6).String(), "8 km/h"},
		{unit.Degrees(60).String(), "60°"},
		{unit.ShowInterval("true peak", 47300, 46900, 52100, unit.Kilonewton), "47.3 kN (true peak 46.9 to 52.1)"},
		{unit.ShowInterval("true peak", 47300, 42000, 62000, unit.Kilonewton), "47 kN (true peak 42 to 62)"},
		{unit.ShowHalf(82200, 269, unit.Kilonewton), "82.20 ± 0.27 kN"},
		{unit.ShowHalf(17160, 1.35, unit.Kilonewton), "17.16 ± 0.01 kN"},
		{unit.ShowWithin(82200, 269, unit.Kilonewton), "82.20 ± 0.27 kN"},
		{unit.ShowWithin(82200, 0, unit.Kilonewton), "82.2 kN"},
		{unit.ShowSeconds(0.3124, 0.0116), "312 ± 12 ms"},
		{unit.ShowSeconds(0.02, 0.015), "20 ± 15 ms"},
		{unit.ShowSeconds(1.416, 0.04), "1.416 ± 0.040 s"},
		{unit.ShowSeconds(0.3124, 0), "312 ms"},
		{unit.ShowTimes("true factor", 1.4567, 1.41, 1.72), "1.46 times (true factor 1.41 to 1.72)"},
		{unit.ShowTimes("true factor", 1.4567, 1.4567, 1.4567), "1.46 times"},
		{unit.ShowTimes("true factor", 1.4567, 1.41, math.Inf(1)), "1.46 times or more"},
		{unit.ShowHalf(82200, 31000, unit.Kilonewton), "82 ± 32 kN"},
		{unit.ShowHalf(0, 0, unit.Kilonewton), "0 ± 0 kN"},
		{unit.ShowRange(3100, 12600, "middle", 7850, unit.Kilonewton), "3.1 to 12.6 kN (middle 7.8)"},
		{unit.ShowRange(898, 1140, "middle", 1019, unit.Kilonewton), "0.89 to 1.14 kN (middle 1.02)"},
	} {
		assert.Equal(t, c.want, c.got)
	}
}

func ExampleParseForce() {
	f, _ := unit.ParseForce("4.75t")
	fmt.Println(f)
	_, err := unit.ParseForce("5")
	fmt.Println(err)
	// Output:
	// 46.6 kN
	// "5" is not a force: a bare number is refused, add one of kN, N, MN, kgf, t, tf, lbf, daN (for example "5kN")
}
