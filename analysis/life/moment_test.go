package life_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
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

// withTwoCells are rigs with two cells: one in each leg of a bridle, which
// shares or may not, one behind the other, and one on each side of a block.
func withTwoCells(t *testing.T) []rig.Rig {
	t.Helper()
	file, err := os.Open("../../testdata/rigs/two-cells.json")
	require.NoError(t, err)
	defer file.Close()
	legs, err := rig.Decode(file)
	require.NoError(t, err)
	shares := legs
	shares.Chain = append([]rig.Link{}, legs.Chain...)
	b := *legs.Chain[3].Bridle
	b.Equaliser = true
	shares.Chain[3].Bridle = &b
	cell := func(n int) rig.Link {
		return rig.InLine(gear.Item{Name: fmt.Sprintf("River-%d", n), Kind: gear.LoadCell})
	}
	line := rig.InLine(strap(100e3))
	row := rig.Rig{Name: "row", Pulling: legs.Pulling, Stuck: legs.Stuck, Chain: []rig.Link{cell(1), line, cell(2)}}
	block := row
	block.Name = "block"
	block.Chain = []rig.Link{cell(1), {Redirect: &rig.Redirect{Included: 1, Block: []rig.Use{{Item: gear.Item{Name: "block", Kind: gear.Block}}}}}, line, cell(2)}
	out := []rig.Rig{legs, shares, row, block}
	for _, r := range out {
		require.NoError(t, r.Validate(), r.Name)
		require.Len(t, r.Cells(), 2)
	}
	return out
}

// byItem are the uses of several pulls of one rig, for each item, by way of
// JSON.
func byItem(t require.TestingT, r rig.Rig, pulls []pull.Pull, cells []string) map[string][]life.Use {
	out := map[string][]life.Use{}
	for i, p := range pulls {
		for _, k := range life.Uses(p, p.Kind, true, r, cells[i]) {
			text, err := json.Marshal(k.Use)
			require.NoError(t, err)
			again := life.Use{Pull: int64(i + 1), Start: k.Start, Kind: k.Kind}
			require.NoError(t, json.Unmarshal(text, &again))
			out[k.Key] = append(out[k.Key], again)
		}
	}
	return out
}

// TestAPullThatTwoCellsSawCountsOnce: whatever the peaks and the rig, both of
// its pulls are one use of each item, with the load and the verdict that the
// page of the pull gives it (rating.JudgeRead), in whatever order they come.
func TestAPullThatTwoCellsSawCountsOnce(t *testing.T) {
	t.Parallel()
	all := withTwoCells(t)
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.SampledFrom(all).Draw(t, "rig")
		cells := []string{"River-1", "River-2"}
		if rapid.Bool().Draw(t, "second first") {
			cells[0], cells[1] = cells[1], cells[0]
		}
		var pulls []pull.Pull
		for range cells {
			p := pull.Pull{Kind: pull.Steady, Flags: []string{}}
			p.Start = rapid.Int64Range(0, 99).Draw(t, "start")
			p.End = rapid.Int64Range(100, 200).Draw(t, "end")
			p.Peak = unit.Force(rapid.Float64Range(100, 150e3).Draw(t, "peak"))
			p.PeakLow, p.PeakHigh = p.Peak*0.98, p.Peak*1.06
			if rapid.Bool().Draw(t, "overload") {
				p.Flags = append(p.Flags, pull.FlagOverload)
			}
			pulls = append(pulls, p)
		}
		reading := func(i int) rating.Reading {
			by := rating.Reading{Cell: cells[i], Peak: rating.PeakOf(pulls[i])}
			by.Kind = pull.Steady
			return by
		}
		second := reading(1)
		whole, err := rating.JudgeRead(reading(0), &second, r, unit.Kilonewton)
		require.NoError(t, err)
		for key, uses := range byItem(t, r, pulls, cells) {
			require.Len(t, uses, 2, key)
			it := itemOf(t, r, key)
			l := life.Of(it, uses, "", unit.Kilonewton)
			require.Len(t, l.Pulls, 1, key)
			require.Equal(t, 1, l.Used.Pulls)
			require.Len(t, l.Pulls[0].Use.Beside, 1)
			want, ok := whole.At(l.Pulls[0].Use.Hung.Ref)
			require.True(t, ok)
			got := l.Pulls[0]
			require.Equal(t, want.Verdict, got.Verdict, key)
			require.Equal(t, want.AtHigh, got.AtHigh, key)
			require.Equal(t, want.Known, got.Known)
			require.InEpsilon(t, 1+float64(want.Carried), 1+float64(got.Carried), 1e-12, key)
			require.InEpsilon(t, 1+float64(want.High), 1+float64(got.High), 1e-12, key)
			require.GreaterOrEqual(t, float64(l.Used.Peak)*(1+1e-12), float64(got.Carried), "the rule counts no less than was carried")
			uses[0], uses[1] = uses[1], uses[0]
			again := life.Of(it, uses, "", unit.Kilonewton)
			require.Equal(t, l.Used, again.Used)
			require.Equal(t, got.Load, again.Pulls[0].Load)
		}
	})
}

func itemOf(t require.TestingT, r rig.Rig, key string) gear.Item {
	for _, u := range r.Uses() {
		if u.Item.Key() == key {
			return u.Item
		}
	}
	require.FailNow(t, "no item", key)
	return gear.Item{}
}

// TestMomentsAgainstAPlainCount: pulls of two cells along a day, of which some
// overlap. Those that touch, directly or by another, are one moment; the peak
// is the highest of it, nothing is lost and nothing counted twice.
func TestMomentsAgainstAPlainCount(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var uses []life.Use
		for _, cell := range []string{"a", "b"} {
			at := int64(0)
			for range rapid.IntRange(0, 6).Draw(t, "pulls") {
				at += rapid.Int64Range(1, 20).Draw(t, "wait")
				u := life.Use{Pull: int64(len(uses) + 1), Start: at, Read: cell, Rig: "r", Hung: &life.Hung{Factor: 1}}
				at += rapid.Int64Range(1, 20).Draw(t, "length")
				u.End, u.Peak = at, unit.Force(rapid.IntRange(1, 9).Draw(t, "peak"))
				uses = append(uses, u)
			}
		}
		uses = rapid.Permutation(uses).Draw(t, "order")
		got := life.Moments(uses)
		seen := map[int64]bool{}
		for _, m := range got {
			top := unit.Force(0)
			for _, id := range append([]int64{m.Pull}, m.Beside...) {
				require.False(t, seen[id], "pull %d counts twice", id)
				seen[id] = true
				for _, u := range uses {
					if u.Pull == id {
						top = max(top, u.Peak)
					}
				}
			}
			require.InDelta(t, float64(top), float64(m.Peak), 0)
		}
		require.Len(t, seen, len(uses))
		require.Len(t, got, plainMoments(uses))
		require.Equal(t, len(got), life.UsedIn(uses).Pulls)
		require.Equal(t, life.UsedIn(uses), life.UsedIn(got), "what was joined stays as it is")
	})
}

// plainMoments counts groups of uses of which each is joined with the one that
// it overlaps for the longest time.
func plainMoments(uses []life.Use) int {
	group := make([]int, len(uses))
	for i := range group {
		group[i] = i
	}
	for i, u := range uses {
		best, longest := -1, int64(0)
		for j, v := range uses {
			if overlap := min(u.End, v.End) - max(u.Start, v.Start); v.Read != u.Read && overlap > longest {
				best, longest = j, overlap
			}
		}
		if best < 0 {
			continue
		}
		for k, was, is := 0, group[best], group[i]; k < len(group); k++ {
			if group[k] == was {
				group[k] = is
			}
		}
	}
	left := map[int]bool{}
	for _, g := range group {
		left[g] = true
	}
	return len(left)
}

// Two rigs at one moment are two pulls, with items that are alike in both.
func TestTwoRigsAtOneMomentAreTwoPulls(t *testing.T) {
	t.Parallel()
	uses := strapPulls(20e3, 30e3)
	for i := range uses {
		uses[i].Start, uses[i].End, uses[i].Rig, uses[i].Read = 0, 10, fmt.Sprint(i), fmt.Sprint("River-", i)
	}
	require.Equal(t, gear.Used{Pulls: 2, Peak: 30e3}, life.UsedIn(uses))
	uses[1].Rig = uses[0].Rig
	require.Equal(t, gear.Used{Pulls: 1, Peak: 30e3}, life.UsedIn(uses))
	uses[1].Read = uses[0].Read
	require.Equal(t, gear.Used{Pulls: 2, Peak: 30e3}, life.UsedIn(uses), "one cell does not see one pull twice")
}

// TestBothLegsTellTheLine: 30 and 30.2 kN in legs 60° apart are at most
// √(30² + 30.2² + 2·30·30.2·cos 60°) = 52.1 kN in the line, by hand.
func TestBothLegsTellTheLine(t *testing.T) {
	t.Parallel()
	r := withTwoCells(t)[0]
	pulls := []pull.Pull{{Start: 0, End: 10, Peak: 30e3, Kind: pull.Steady}, {Start: 1, End: 11, Peak: 30.2e3, Kind: pull.Steady}}
	uses := byItem(t, r, pulls, []string{"River-1", "River-2"})["blue strap 9 m"]
	l := life.Of(itemOf(t, r, "blue strap 9 m"), uses, "", unit.Kilonewton)
	want := math.Sqrt(30*30 + 30.2*30.2 + 30*30.2)
	require.InDelta(t, want*1e3, float64(l.Pulls[0].Carried), 1e-6)
	require.InDelta(t, want*1e3, float64(l.Used.Peak), 1e-6)
	require.Contains(t, l.Reason(0, unit.Kilonewton), "at most 52")
}
