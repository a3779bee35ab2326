package life_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/life"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// rigs are those that the project shows as examples.
func rigs(t *testing.T) (out []rig.Rig) {
	t.Helper()
	files, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		f, err := os.Open(file)
		require.NoError(t, err)
		r, err := rig.Decode(f)
		require.NoError(t, err, file)
		require.NoError(t, f.Close())
		if len(r.Cells()) == 1 {
			out = append(out, r)
		}
	}
	return out
}

func itemAt(t require.TestingT, r rig.Rig, ref string) gear.Item {
	places, err := r.Places()
	require.NoError(t, err)
	for _, p := range places {
		if p.Ref == ref {
			return p.Use.Item
		}
	}
	require.FailNow(t, "no place", ref)
	return gear.Item{}
}

// Which of two cells read a pull is not kept: what an item carried is then not
// known, and not taken from the first one.
func TestTheLoadInARigWithTwoCellsIsNotKnown(t *testing.T) {
	t.Parallel()
	cell := func(name string) rig.Link { return rig.InLine(gear.Item{Name: name, Kind: gear.LoadCell}) }
	r := rig.Rig{Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"}, Chain: []rig.Link{cell("River-1"), cell("River-2")}}
	require.NoError(t, r.Validate())
	uses := life.Uses(pull.Pull{Peak: 10e3}, pull.Steady, true, r, "")
	require.Len(t, uses, 2)
	for _, u := range uses {
		require.Nil(t, u.Hung)
	}
}

// TestLifeSaysWhatEachPullSays: what is kept of a pull gives, by way of JSON,
// the same load and verdict for an item as judging the pull with its whole rig.
func TestLifeSaysWhatEachPullSays(t *testing.T) {
	t.Parallel()
	all := rigs(t)
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.SampledFrom(all).Draw(t, "rig")
		p := pull.Pull{Start: 5, End: 9, Peak: unit.Force(rapid.Float64Range(0, 300e3).Draw(t, "peak")), Flags: []string{}}
		p.PeakLow, p.PeakHigh = p.Peak*0.98, p.Peak*1.07
		if rapid.Bool().Draw(t, "overload") {
			p.Flags = append(p.Flags, pull.FlagOverload)
		}
		p.Kind = rapid.SampledFrom([]pull.Kind{pull.Kinetic, pull.Steady, pull.Proof}).Draw(t, "kind")
		whole, err := rating.Judge(rating.PeakOf(p), r, unit.Kilonewton)
		require.NoError(t, err)
		for _, k := range life.Uses(p, p.Kind, true, r, "") {
			text, err := json.Marshal(k.Use)
			require.NoError(t, err)
			again := life.Use{Start: k.Start, Kind: k.Kind}
			require.NoError(t, json.Unmarshal(text, &again))
			want, ok := whole.At(k.Hung.Ref)
			require.True(t, ok)
			want.Share = rig.Share{Factor: want.Share.Factor, Alone: want.Share.Alone, Unbounded: want.Share.Unbounded}
			l := life.Of(itemAt(t, r, k.Hung.Ref), []life.Use{again}, "", unit.Kilonewton)
			got := l.Pulls[0].Item
			got.Reason = l.Reason(0, unit.Kilonewton)
			require.Equal(t, want, got)
		}
	})
}

// strapPulls are steady pulls with these peaks on a strap that carries all.
func strapPulls(peaks ...unit.Force) (out []life.Use) {
	for i, p := range peaks {
		out = append(out, life.Use{
			Pull: int64(i + 1), Start: int64(i+1) * 1e9, Kind: pull.Steady, Peak: p, Low: p * 0.99, High: p * 1.05, Rebounds: i,
			Hung: &life.Hung{Ref: "1", Factor: 1}, Places: 1,
		})
	}
	return out
}

func strap(mbs unit.Force) gear.Item {
	two, pulls, half := 2.0, 3, 0.5
	return gear.Item{
		ID: "s1", Name: "strap", Kind: gear.RecoveryStrap, Made: "2022-05-01", Ratings: []gear.Rating{{Value: mbs, Basis: gear.MBS, DesignFactor: &two}},
		Life: gear.Life{RetireRule: &gear.RetireRule{MaxPulls: &pulls, MaxPeak: &half}},
	}
}

// TestSummary adds up by hand: limits of 50 and 100 kN.
func TestSummary(t *testing.T) {
	t.Parallel()
	l := life.Of(strap(100e3), strapPulls(20e3, 49e3, 60e3, 30e3), "2026-05-01", unit.Kilonewton)
	require.Equal(t, 2, l.Largest)
	require.Equal(t, gear.Used{Pulls: 4, Peak: 60e3}, l.Used)
	require.InDelta(t, 0.6, *l.Pulls[2].OfMBS, 1e-12)
	require.Nil(t, l.Pulls[2].OfWLL)
	require.Equal(t, int64(1e9), l.First)
	require.Equal(t, int64(4e9), l.Last)
	require.Equal(t, 6, l.Rebounds)
	require.Zero(t, l.Unknown)
	counts := map[rating.Verdict][2]int{}
	for _, c := range l.Counts {
		counts[c.Verdict] = [2]int{c.Pulls, c.AtHigh}
	}
	require.Equal(t, map[rating.Verdict][2]int{
		rating.Inside: {3, 2}, rating.Over: {1, 2}, rating.NotJudged: {}, rating.NotRated: {}, rating.OverBreaking: {},
	}, counts, "49 kN may have been 51.45")
	require.Equal(t, "4.0 years", l.Age.Text)
	require.Len(t, l.Retire, 2, "four pulls where three are allowed, and 60 % where 50 % is")

	pulls, atHigh := l.Above(0.5)
	require.Equal(t, [2]int{1, 2}, [2]int{pulls, atHigh})
	sum, ok := l.Relative(1)
	require.True(t, ok)
	require.InDelta(t, (20+49+60+30)/60.0, sum, 1e-12)

	corrected := life.Of(strap(300e3), strapPulls(20e3, 49e3, 60e3, 30e3), "2026-05-01", unit.Kilonewton)
	require.Equal(t, 4, corrected.Counts[rating.Inside.Rank()].Pulls, "a corrected rating changes every verdict")
}

// TestOneBreakingStrength: of several stated strengths the pages, the owner's
// rule and the shares take the same one, whatever their order.
func TestOneBreakingStrength(t *testing.T) {
	t.Parallel()
	it, half := strap(200e3), 0.5
	it.RetireRule = &gear.RetireRule{MaxPeak: &half}
	low := gear.Rating{Value: 100e3, Basis: gear.MBS}
	pair := gear.Rating{Value: 60e3, Basis: gear.MBS, Together: gear.Pair}
	for _, ratings := range [][]gear.Rating{{it.Ratings[0], low, pair}, {pair, low, it.Ratings[0]}} {
		it.Ratings = ratings
		l := life.Of(it, strapPulls(55e3), "2026-05-01", unit.Kilonewton)
		require.Equal(t, unit.Force(100e3), it.StatedMBS())
		require.InDelta(t, 0.55, *l.Pulls[0].OfMBS, 1e-12)
		pulls, _ := l.Above(0.5)
		require.Equal(t, 1, pulls)
		require.Len(t, l.Retire, 1)
		require.Contains(t, l.Retire[0], "55 %")
	}
}

func TestWhatIsNotKnownIsSaid(t *testing.T) {
	t.Parallel()
	uses := strapPulls(20e3)
	uses[0].Hung = nil
	l := life.Of(strap(100e3), uses, "", unit.Kilonewton)
	require.Equal(t, 1, l.Unknown)
	require.Equal(t, -1, l.Largest)
	require.Equal(t, rating.NotJudged, l.Pulls[0].Verdict)
	_, ok := l.Relative(3)
	require.False(t, ok)
	empty := life.Of(gear.Item{Name: "new"}, nil, "", unit.Kilonewton)
	require.Zero(t, empty.First)
	require.Empty(t, empty.Retire)
}

// TestItemsWithoutAnIDAreOne: four shackles of one name are four places of one
// key, and what is kept is the one that carried most.
func TestItemsWithoutAnIDAreOne(t *testing.T) {
	t.Parallel()
	shackle := gear.Item{Name: "shackle", Kind: gear.BowShackle}
	r := rig.Rig{
		Pulling: gear.Vehicle{Name: "a"}, Stuck: gear.Vehicle{Name: "b"},
		Chain: []rig.Link{
			rig.InLine(gear.Item{Name: "cell", Kind: gear.LoadCell}), rig.InLine(shackle),
			{Bridle: &rig.Bridle{Included: unit.Angle(math.Pi / 3), Equaliser: true, Left: []rig.Use{{Item: shackle}}, Right: []rig.Use{{Item: shackle}}}},
		},
	}
	uses := life.Uses(pull.Pull{Peak: 10e3}, pull.Steady, true, r, "")
	require.Len(t, uses, 2)
	require.Equal(t, 3, uses[1].Places)
	require.InDelta(t, 1, uses[1].Hung.Factor, 1e-12)
}

func BenchmarkOf(b *testing.B) {
	var peaks []unit.Force
	for i := range 1000 {
		peaks = append(peaks, unit.Force(20e3+float64(i%400)*100))
	}
	uses, it := strapPulls(peaks...), strap(100e3)
	b.ReportAllocs()
	for b.Loop() {
		if l := life.Of(it, uses, "2026-05-01", unit.Kilonewton); len(l.Pulls) != 1000 {
			b.Fatal(len(l.Pulls))
		}
	}
}
