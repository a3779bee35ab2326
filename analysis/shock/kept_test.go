package shock_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/strict"
	"tautlog/calc/unit"
)

// someKept is a fitted set of a simulated club, as the store would give it. Its
// four days are too few to be drawn again, which would take long.
func someKept(t *testing.T, seed uint64) shock.Kept { return keptOf(t, seed, 4) }

func keptOf(t *testing.T, seed uint64, days int) shock.Kept {
	t.Helper()
	pulls := withSpeed(t, rand.New(rand.NewPCG(41, seed)), 40, days, 0.05, 0.1)
	for i := range pulls {
		pulls[i].Line = i + 1
	}
	k := shock.Keep(" river bar ", pulls)
	k.Version, k.Made, k.Who = 3, "2026-05-09T10:00:00Z", "test"
	return k
}

func fittedClass(t *testing.T, k shock.Kept) shock.ClassRecord {
	t.Helper()
	for _, c := range k.Fit.Classes {
		if c.Upper != nil {
			return c
		}
	}
	require.FailNow(t, "no class has a bound")
	return shock.ClassRecord{}
}

// TestKeptComesBackWhole: through JSON a set keeps every digit, so that what
// is fitted again from it is the same to the last bit.
func TestKeptComesBackWhole(t *testing.T) {
	t.Parallel()
	k := keptOf(t, 1, 6)
	require.NoError(t, k.Check())
	require.Equal(t, "river bar, version 3", k.Label())
	text, err := json.Marshal(k)
	require.NoError(t, err)
	again, err := shock.DecodeKept(bytes.NewReader(text))
	require.NoError(t, err)
	require.Equal(t, k, again)
	f, remarks := again.Refit()
	require.NotNil(t, f)
	require.Empty(t, remarks, "the same program fits the same")
	require.Equal(t, k.Fit.Speed.Spread, f.Spread)
	require.Equal(t, f, k.Speed())
}

// TestRefitSaysWhatIsNoLongerTheSame: a frozen number that this program would
// not find is named, and one that it finds to half a percent is not.
func TestRefitSaysWhatIsNoLongerTheSame(t *testing.T) {
	t.Parallel()
	k := someKept(t, 2)
	k.Fit.Speed.Straps[0].Value *= 1.005
	_, remarks := k.Refit()
	require.Empty(t, remarks)
	name := k.Fit.Speed.Straps[0].Name
	k.Fit.Speed.Straps[0].Value *= 1.01
	k.Fit.Classes[0].Median *= 0.9
	k.Fit.Speed.Grounds = k.Fit.Speed.Grounds[:1]
	_, remarks = k.Refit()
	require.Len(t, remarks, 3)
	assert.Contains(t, remarks[0], "river bar, version 3, median of kinetic, ")
	assert.Contains(t, remarks[1], "stiffness of "+name+": frozen ")
	assert.Contains(t, remarks[2], "resistance of ")
	assert.Contains(t, remarks[2], "only one of the frozen fit and that of this program has it")
	k.Fit.Speed = nil
	_, remarks = k.Refit()
	require.Len(t, remarks, 2)
	assert.Contains(t, remarks[1], "the fit by speed: only one")
	f, remarks := shock.RuleOfThumb().Refit()
	assert.Nil(t, f)
	assert.Empty(t, remarks)
	assert.Nil(t, shock.RuleOfThumb().Speed())
}

func TestMultiplierIsTheFrozenBoundOrTheNearestAssumption(t *testing.T) {
	t.Parallel()
	k := someKept(t, 3)
	c := fittedClass(t, k)
	p, ok := k.Multiplier(shock.Class{Kind: c.Kind, Ground: strings.ToUpper(c.Ground), Strap: c.Strap})
	require.True(t, ok)
	assert.Equal(t, *c.Upper, p.Upper)
	assert.Equal(t, c.Median, *p.Median)
	assert.True(t, p.Fitted)
	assert.Contains(t, p.Text, "(river bar, version 3)")
	_, ok = k.Multiplier(shock.Class{Kind: pull.Kinetic, Ground: "snow", Strap: c.Strap})
	assert.False(t, ok)

	p, ok = shock.RuleOfThumb().Multiplier(shock.Class{Kind: pull.Kinetic, Ground: "mud"})
	require.True(t, ok)
	assert.Equal(t, shock.Planning{Upper: 3, Text: "assumed, not measured: common practice, no source (rule of thumb)"}, p)
	_, ok = shock.RuleOfThumb().Multiplier(shock.Class{Kind: pull.Steady})
	assert.False(t, ok)

	assumed := shock.Kept{Name: "by hand", Assumed: []shock.Assumption{
		{Multiplier: 4, Source: "any"}, {Class: shock.ClassName{Ground: "mud"}, Multiplier: 2, Source: "mud"},
		{Class: shock.ClassName{Strap: "rope"}, Multiplier: 2.5, Source: "rope"},
	}}
	require.NoError(t, assumed.Check())
	for _, c := range []struct {
		class shock.Class
		want  float64
	}{
		{shock.Class{Kind: pull.Steady}, 4}, {shock.Class{Kind: pull.Kinetic, Ground: "Mud"}, 2},
		{shock.Class{Ground: "mud", Strap: "rope"}, 2.5}, // of equals the largest
	} {
		p, ok := assumed.Multiplier(c.class)
		require.True(t, ok)
		assert.Equal(t, c.want, p.Upper, c.class)
	}
}

func TestCheckRefusesWhatCannotBeKept(t *testing.T) {
	t.Parallel()
	good := someKept(t, 4)
	for says, spoil := range map[string]func(*shock.Kept){
		"it has no name":              func(k *shock.Kept) { k.Name = " " },
		`an "@" in it`:                func(k *shock.Kept) { k.Name = "bar@3" },
		"stays as it is":              func(k *shock.Kept) { k.Name = "Rule of Thumb" },
		"either assumed or fitted":    func(k *shock.Kept) { k.Assumed = shock.RuleOfThumb().Assumed },
		"either assumed or":           func(k *shock.Kept) { k.Fit = nil },
		"pulls behind it belong":      func(k *shock.Kept) { k.Pulls = nil },
		"a number above zero, not -1": func(k *shock.Kept) { assume(k, shock.Assumption{Multiplier: -1, Source: "x"}) },
		"the multiplier of 3 has no":  func(k *shock.Kept) { assume(k, shock.Assumption{Multiplier: 3}) },
		"can be used; line 7: no peak": func(k *shock.Kept) {
			*k = shock.Keep("x", []shock.Pull{{Line: 7, Day: "1", Class: shock.Class{Kind: pull.Kinetic}, Reference: 1}})
		},
	} {
		k := good
		spoil(&k)
		err := k.Check()
		require.ErrorIs(t, err, shock.ErrKept, says)
		assert.Contains(t, err.Error(), says)
	}
}

func assume(k *shock.Kept, a shock.Assumption) {
	k.Fit, k.Pulls, k.Assumed = nil, nil, []shock.Assumption{a}
}

func TestDecodeKeptIsStrict(t *testing.T) {
	t.Parallel()
	const good = `{"name":"x","version":1,"made":"","who":"","note":"","assumed":[{"class":{"kind":"kinetic","ground":"","strap":""},"multiplier":3,"source":"s"}]}`
	_, err := shock.DecodeKept(strings.NewReader(good + "\n"))
	require.NoError(t, err)
	for name, text := range map[string]string{
		"unknown key":         strings.Replace(good, `"who"`, `"whom"`, 1),
		"unknown key, deeper": strings.Replace(good, `"source"`, `"origin"`, 1),
		"unknown key, a pull": strings.Replace(good, `"assumed"`, `"pulls":[{"day":"1","kind":"kinetic","ground":"","strap":"","peak_kN":1}],"assumed"`, 1),
		"something behind":    good + "{}",
		"cut off":             good[:40],
		"cannot be kept":      strings.Replace(good, `"multiplier":3`, `"multiplier":0`, 1),
	} {
		_, err := shock.DecodeKept(strings.NewReader(text))
		require.ErrorIs(t, err, shock.ErrKept, name)
	}
}

// TestAKeptSetIsRefusedWithItsLine: a set is long, and its pulls have keys of
// their own.
func TestAKeptSetIsRefusedWithItsLine(t *testing.T) {
	t.Parallel()
	text, err := json.MarshalIndent(someKept(t, 5), "", "  ")
	require.NoError(t, err)
	again, err := shock.DecodeKept(bytes.NewReader(text))
	require.NoError(t, err)
	require.NotEmpty(t, again.Pulls)
	line := func(of string) int { return 1 + bytes.Count(text[:bytes.Index(text, []byte(of))], []byte("\n")) }
	for was, is := range map[string]string{`"peak_N":`: `"peak_kN":`, `"median":`: `"middle":`, `"pulls": [`: `"pulls": "none" [`} {
		_, err := shock.DecodeKept(bytes.NewReader(bytes.Replace(text, []byte(was), []byte(is), 1)))
		require.ErrorIs(t, err, shock.ErrKept)
		e, ok := errors.AsType[*strict.Error](err)
		require.True(t, ok, err)
		require.Equal(t, line(was), e.Line, was)
	}
}

func TestCompareHoldsClassAgainstClass(t *testing.T) {
	t.Parallel()
	a, b := someKept(t, 5), someKept(t, 5)
	b.Version = 4
	c := fittedClass(t, a)
	for i := range b.Fit.Classes {
		if b.Fit.Classes[i].ClassName == c.ClassName {
			upper := *c.Upper * 1.1
			b.Fit.Classes[i].Upper = &upper
		}
	}
	found := 0
	for _, d := range shock.Compare(a, b) {
		if d.ClassName != c.ClassName {
			continue
		}
		found++
		assert.InDelta(t, 1.1, *d.Ratio, 1e-12)
		assert.Contains(t, d.Words, "10 % higher")
	}
	require.Equal(t, 1, found)
	require.Len(t, shock.Compare(a, b), len(a.Fit.Classes))

	against := shock.Compare(a, shock.RuleOfThumb())
	require.Len(t, against, len(a.Fit.Classes), "the assumption speaks of each kinetic class")
	for _, d := range against {
		require.NotNil(t, d.B)
		assert.Equal(t, 3.0, d.B.Upper)
	}
	towing := shock.Kept{Name: "tow", Assumed: []shock.Assumption{{Class: shock.ClassName{Kind: pull.Steady}, Multiplier: 1.2, Source: "s"}}}
	both := shock.Compare(shock.RuleOfThumb(), towing)
	require.Len(t, both, 2)
	assert.Equal(t, "rule of thumb plans with 3.00; tow says nothing", both[0].Words)
	assert.Equal(t, "rule of thumb says nothing; tow plans with 1.20", both[1].Words)
	same := shock.Compare(towing, towing)
	require.Len(t, same, 1)
	assert.Contains(t, same[0].Words, "the same")
}

func TestWriteClasses(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	require.NoError(t, shock.RuleOfThumb().WriteClasses(&out))
	require.Equal(t, "kind,ground,strap,pulls,days,median,upper_95_95,pooled,assumed,source,set,version\n"+
		"kinetic,,,,,,,,3,\"common practice, no source\",rule of thumb,0\n", out.String())
	out.Reset()
	k := someKept(t, 6)
	require.NoError(t, k.WriteClasses(&out))
	require.Equal(t, 1+len(k.Fit.Classes), strings.Count(out.String(), "\n"))
	require.Contains(t, out.String(), ",fitted,river bar,3\n")
}

// TestWrittenPullsAreReadAgain: whatever pulls are, Decode reads back what
// WritePulls has written, and JSON too.
func TestWrittenPullsAreReadAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pulls := rapid.SliceOfN(rapid.Custom(anyPull), 1, 8).Draw(t, "pulls")
		var out bytes.Buffer
		require.NoError(t, shock.WritePulls(&out, pulls))
		got, err := shock.Decode(&out, false)
		require.NoError(t, err)
		for i := range got {
			got[i].Line = 0
			if len(got[i].Flags) == 0 {
				got[i].Flags = nil
			}
		}
		require.Equal(t, pulls, got)
		text, err := json.Marshal(pulls)
		require.NoError(t, err)
		var again []shock.Pull
		require.NoError(t, json.Unmarshal(text, &again))
		require.Equal(t, pulls, again)
	})
}

// anyPull draws a pull of which anything may be unknown.
func anyPull(t *rapid.T) shock.Pull {
	text := func(label string) string {
		return strings.TrimSpace(rapid.StringMatching(`[ -~äµ÷日\n]{0,12}`).Draw(t, label))
	}
	number := func(label string) float64 {
		return rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-9, 1e9)).Draw(t, label)
	}
	p := shock.Pull{
		ID: text("id"), Day: text("day"), Remark: text("remark"), Peak: unit.Force(number("peak")),
		Class:     shock.Class{Kind: rapid.SampledFrom([]pull.Kind{"", pull.Kinetic, pull.Steady, pull.Proof}).Draw(t, "kind"), Ground: text("ground"), Strap: text("strap")},
		Reference: unit.Mass(number("reference")), Speed: unit.Speed(number("speed")), Puller: unit.Mass(number("puller")),
		StrapLength: unit.Length(number("length")), StrapMBS: unit.Force(number("mbs")),
	}
	if p.Peak > 0 && rapid.Bool().Draw(t, "interval") {
		p.Low, p.High = p.Peak*0.9, p.Peak*1.3
	}
	if f := rapid.SliceOfN(rapid.SampledFrom([]string{pull.FlagSampling, pull.FlagGapAtPeak, pull.FlagOverload}), 0, 3).Draw(t, "flags"); len(f) > 0 {
		p.Flags = f
	}
	return p
}
