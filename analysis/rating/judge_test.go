package rating_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

func TestVerdictWordsAndShapes(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []rating.Verdict{"inside rating", "cannot be judged", "over rating", "not rated for this use", "over breaking strength"}, rating.Verdicts())
	var shapes string
	for _, v := range rating.Verdicts() {
		shapes += v.Shape()
	}
	assert.Equal(t, "○◌▲⊗■", shapes)
	assert.True(t, rating.OverBreaking.Worse(rating.Inside))
	assert.Panics(t, func() { rating.Verdict("fine").Rank() })
}

// TestAVerdictIsSaidInTheLanguageInUseAndFiledAsItIs is not parallel: there is
// one language at a time.
func TestAVerdictIsSaidInTheLanguageInUseAndFiledAsItIs(t *testing.T) { //nolint:paralleltest // see above
	require.NoError(t, words.Use(strings.NewReader(`{"language":"de","texts":{"verdict.over rating":"über der Nennlast","severity.to know":"gut zu wissen"}}`)))
	t.Cleanup(func() { require.NoError(t, words.Use(strings.NewReader(`{"language":"en","texts":{}}`))) })
	assert.Equal(t, "über der Nennlast", rating.Over.String())
	assert.Equal(t, "gut zu wissen", rating.ToKnow.String())
	res := judge(t, rating.Peak{Value: 2000}, of(gearOf("ring", gear.Ring, wll(1000))))
	assert.Contains(t, res.Summary, "1 über der Nennlast")
	filed, err := json.Marshal(struct {
		Item rating.ItemRecord
		rating.Mismatch
	}{item(t, res, "ring").Record(), rating.Mismatch{Severity: rating.ToKnow}})
	require.NoError(t, err)
	assert.Contains(t, string(filed), `"verdict":"over rating"`)
	assert.Contains(t, string(filed), `"severity":"to know"`)
}

func TestInsideAtTheReadingButOverAtTheUpperEndIsSaid(t *testing.T) {
	t.Parallel()
	r := of(gearOf("shackle", gear.BowShackle, wll(50000)))
	res, err := rating.Judge(rating.Peak{Value: 47300, Low: 46900, High: 52100}, r, unit.Kilonewton)
	require.NoError(t, err)
	it := item(t, res, "shackle")
	assert.Equal(t, rating.Inside, it.Verdict)
	assert.Equal(t, rating.Over, it.AtHigh)
	assert.Equal(t, "It carried 47.3 kN (true load 46.9 to 52.1), 95 % of its 50 kN WLL. At the upper end of the interval, 52.1 kN, it was over rating.", it.Reason)
	assert.Equal(t, "At a peak of 47.3 kN (true peak 46.9 to 52.1), all 2 items were inside rating. Nearest to its limit: shackle, 95 % of its WLL. "+
		"At the upper end of the interval: shackle over rating.", res.Summary)
}

func TestTheIntervalIsCarriedThroughTheShare(t *testing.T) {
	t.Parallel()
	res := judge(t, rating.Peak{Value: 1000, Low: 900, High: 1300}, bridled(120, true, wll(5000)))
	it := item(t, res, "left point")
	assert.InDelta(t, 1000, float64(it.Carried), 1e-9, "at 120° each leg carries the whole line")
	assert.InDelta(t, 900, float64(it.Low), 1e-9)
	assert.InDelta(t, 1300, float64(it.High), 1e-9)
	it = item(t, judge(t, rating.Peak{Value: 1000, Low: 900, High: 1300}, bridled(60, true, wll(5000))), "left point")
	assert.InDelta(t, 519.615, float64(it.Low), 1e-3, "900 / (2 cos 30°)")
	assert.InDelta(t, 750.555, float64(it.High), 1e-3, "1300 / (2 cos 30°)")
}

// The interval of what an item carried is that of the peak times its share,
// whatever the rig.
func TestTheIntervalScalesWithTheShare(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawPeak(t)
		p.Value += 1
		p.Low, p.High = p.Value*0.93, p.Value*1.21
		for _, it := range judge(t, p, drawRig(t)).Items {
			if it.Known {
				assert.InEpsilon(t, 1+0.93*float64(it.Carried), 1+float64(it.Low), 1e-12, it.Name)
				assert.InEpsilon(t, 1+1.21*float64(it.Carried), 1+float64(it.High), 1e-12, it.Name)
			}
		}
	})
}

func TestWithoutAnIntervalItIsSaid(t *testing.T) {
	t.Parallel()
	res := judge(t, rating.Peak{Value: 1000}, of())
	assert.Contains(t, res.Remarks, "No interval of the true peak is known: it is taken as read.")
	assert.Equal(t, res.Items[0].Verdict, res.Items[0].AtHigh)
}

func TestALowerBoundIsNeverInside(t *testing.T) {
	t.Parallel()
	r := of(gearOf("shackle", gear.BowShackle, wll(50000), gear.Rating{Value: 250000, Basis: gear.MBS}))
	for name, p := range map[string]rating.Peak{
		"infinite": {Value: 40000, Low: 39000, High: unit.Force(math.Inf(1))},
		"overload": rating.PeakOf(pull.Pull{Peak: 40000, PeakLow: 39000, PeakHigh: 41000, Flags: []string{pull.FlagOverload}}),
		"gap":      rating.PeakOf(pull.Pull{Peak: 40000, PeakLow: 39000, PeakHigh: 41000, Flags: []string{pull.FlagGapAtPeak}}),
	} {
		res, err := rating.Judge(p, r, "")
		require.NoError(t, err)
		assert.Equal(t, unit.Kilonewton, res.Unit)
		it := item(t, res, "shackle")
		assert.Equal(t, rating.NotJudged, it.Verdict, name)
		assert.Equal(t, rating.OverBreaking, it.AtHigh, name)
		assert.Equal(t, "It carried 40 kN or more, 80 % of its 50 kN WLL; the largest reading is only a lower bound. It may have been over breaking strength.", it.Reason)
		assert.Contains(t, res.Summary, "At a peak of 40 kN or more, shackle cannot be judged.")
		_, err = json.Marshal(it.Record())
		require.NoError(t, err, "JSON has no infinity")
	}
	res, err := rating.Judge(rating.Peak{Value: 51000, Open: true}, r, "")
	require.NoError(t, err)
	assert.Equal(t, rating.Over, item(t, res, "shackle").Verdict, "what is over already is over")
}

func TestAPeakThatIsNoNumberIsNotInside(t *testing.T) {
	t.Parallel()
	assert.Equal(t, rating.NotJudged, judge(t, rating.Peak{Value: unit.Force(math.NaN())}, of()).Verdict)
}

func TestWeakestFirst(t *testing.T) {
	t.Parallel()
	ball := gearOf("ball", gear.TowBall)
	res := judge(t, rating.Peak{Value: 10 * tonne, Low: 10 * tonne, High: 10 * tonne}, of(
		gearOf("half", gear.Ring, wll(20*tonne)),
		gearOf("nothing known", gear.Ring),
		gearOf("near", gear.Ring, wll(11*tonne)),
		gearOf("over", gear.Ring, wll(9*tonne)),
		gearOf("far over", gear.Ring, wll(5*tonne)),
		gearOf("broken", gear.Ring, gear.Rating{Value: 9 * tonne, Basis: gear.MBS}),
		ball,
	))
	var names []string
	for _, it := range res.Items {
		names = append(names, it.Name)
	}
	assert.Equal(t, []string{"broken", "ball", "far over", "over", "nothing known", "near", "half", "cell"}, names)
	assert.Equal(t, rating.OverBreaking, res.Verdict)
	weakest, ok := res.Weakest()
	assert.True(t, ok)
	assert.Equal(t, "broken", weakest.Name)
	assert.Equal(t, "At a peak of 10 t, broken was over breaking strength. Of 8 items: 1 over breaking strength, 1 not rated for this use, 2 over rating, 1 cannot be judged, 3 inside rating.", res.Summary)
	found, ok := res.At("3")
	assert.True(t, ok)
	assert.Equal(t, "nothing known", found.Name)
	_, ok = res.At("99")
	assert.False(t, ok)
}

func TestJustOverDoesNotRoundToTheLimit(t *testing.T) {
	t.Parallel()
	it := one(t, 5.01*tonne, gearOf("ring", gear.Ring, wll(5*tonne)))
	assert.Equal(t, rating.Over, it.Verdict)
	assert.Contains(t, it.Reason, "100.2 %")
	assert.Equal(t, rating.Inside, one(t, 5*tonne, gearOf("ring", gear.Ring, wll(5*tonne))).Verdict, "at the limit is within it")
}

func TestALowerStampStandsBeforeAHigherWLL(t *testing.T) {
	t.Parallel()
	it := one(t, 4*tonne, gearOf("ring", gear.Ring, wll(5*tonne), gear.Rating{Value: 3 * tonne, Basis: gear.Unknown}))
	assert.Equal(t, rating.Over, it.Verdict)
	assert.InDelta(t, 4.0/3, *it.Utilisation, 1e-9, "the number that it was over is the one that is named")
}

func TestAnUnsureAngleCannotBeJudged(t *testing.T) {
	t.Parallel()
	it := one(t, 4*tonne, at(gearOf("point", gear.RecoveryPoint, wll(5*tonne)), 30))
	assert.Equal(t, rating.NotJudged, it.Verdict)
	assert.Equal(t, "It carried 4 t, 80 % of its 5 t WLL, but the rating does not say at what angle it holds and the line lay 30° off its axis.", it.Reason)
	assert.Equal(t, rating.Over, one(t, 6*tonne, at(gearOf("point", gear.RecoveryPoint, wll(5*tonne)), 30)).Verdict)

	res := judge(t, rating.Peak{Value: 1}, of(gearOf("point", gear.RecoveryPoint, wll(5*tonne))))
	assert.Contains(t, res.Remarks, "The angle of the line at point was not recorded, and its rating does not say at what angle it holds: it is taken as in line.")
}

func TestARigThatCannotBeSolvedIsAnError(t *testing.T) {
	t.Parallel()
	_, err := rating.Judge(rating.Peak{Value: 1}, rig.Rig{}, "")
	require.ErrorIs(t, err, rig.ErrRig)
}

func TestPeakOf(t *testing.T) {
	t.Parallel()
	p := pull.Pull{Peak: 3, PeakLow: 2, PeakHigh: 5, Kind: pull.Proof}
	assert.Equal(t, rating.Peak{Value: 3, Low: 2, High: 5, Kind: pull.Proof}, rating.PeakOf(p))
}

func TestCautions(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, c := range rating.Cautions() {
		assert.False(t, seen[c.ID], c.ID)
		seen[c.ID] = true
		assert.NotEmpty(t, c.Short)
		assert.Greater(t, len(c.Long), len(c.Short))
		assert.NotEmpty(t, c.Source)
		assertPlain(t, c.Short+" "+c.Long)
	}
	for _, id := range []string{"distance", "attachment", "damper", "inspect", "trained", "rules", "tool"} {
		assert.True(t, seen[id], id)
	}
}

// assertPlain refuses words that would permit a pull.
func assertPlain(t require.TestingT, s string) {
	for word := range strings.FieldsFuncSeq(strings.ToLower(s), func(r rune) bool { return r < 'a' || r > 'z' }) {
		assert.NotContains(t, []string{"safe", "safely", "ok", "okay", "pass", "passed", "passes", "allowed", "permitted"}, word, s)
	}
}

// drawItem makes any item, well rated or not.
func drawItem(t *rapid.T, name string) rig.Use {
	force := func(n string) unit.Force { return unit.Force(rapid.Float64Range(1000, 300000).Draw(t, n)) }
	u := rig.Use{Item: gear.Item{Name: name}}
	u.Item.Kind = rapid.SampledFrom([]gear.Kind{gear.RecoveryPoint, gear.BowShackle, gear.RecoveryStrap, gear.TowStrap, gear.Ring, gear.TieDown, gear.GroundAnchor}).Draw(t, "kind")
	for range rapid.IntRange(0, 4).Draw(t, "ratings") {
		r := gear.Rating{Value: force("value"), Basis: rapid.SampledFrom(gear.Bases()).Draw(t, "basis"),
			Together: rapid.SampledFrom([]gear.Together{"", gear.Alone, gear.Pair}).Draw(t, "together"),
			Direction: rapid.SampledFrom([]gear.Direction{{}, gear.Straight(), gear.Within(unit.Degrees(30)), {Rule: gear.FullTurn},
				{Rule: gear.AnyDirection}, {Rule: gear.SideLoadSteps}}).Draw(t, "direction")}
		if r.Basis == gear.MBS && rapid.Bool().Draw(t, "factor known") {
			r.DesignFactor = factor(rapid.Float64Range(1, 10).Draw(t, "factor"))
		}
		u.Item.Ratings = append(u.Item.Ratings, r)
	}
	switch rapid.IntRange(0, 2).Draw(t, "off axis") {
	case 1:
		u.OffAxis = &rig.OffAxis{Horizontal: deg(rapid.Float64Range(-100, 100).Draw(t, "horizontal"))}
	case 2:
		u.OffAxis = &rig.OffAxis{FullTurn: true}
	}
	return u
}

// drawRig makes a rig of such items, in line and in a bridle, the cell in
// line or in a leg.
func drawRig(t *rapid.T) rig.Rig {
	r := of(drawItem(t, "a"), drawItem(t, "b"))
	b := &rig.Bridle{Included: unit.Degrees(rapid.Float64Range(0, 170).Draw(t, "included")), Equaliser: rapid.Bool().Draw(t, "equaliser"),
		Left: []rig.Use{drawItem(t, "left")}, Right: []rig.Use{drawItem(t, "right")}}
	if rapid.Bool().Draw(t, "cell in a leg") {
		b.Left = append(b.Left, *r.Chain[0].Use)
		r.Chain = r.Chain[1:]
	}
	r.Chain = append(r.Chain, rig.Link{Bridle: b})
	if rapid.Bool().Draw(t, "turn known") {
		r.Stuck.FullTurn, r.Pulling.FullTurn = deg(34), deg(30)
	}
	return r
}

func drawPeak(t *rapid.T) rating.Peak {
	p := rating.Peak{Value: unit.Force(rapid.Float64Range(0, 400000).Draw(t, "peak"))}
	p.Kind = rapid.SampledFrom([]pull.Kind{"", pull.Kinetic, pull.Steady, pull.Proof}).Draw(t, "pull")
	p.Open = rapid.IntRange(0, 4).Draw(t, "open") == 0
	if rapid.Bool().Draw(t, "interval") {
		p.Low = p.Value * unit.Force(rapid.Float64Range(0.9, 1).Draw(t, "low"))
		p.High = p.Value * unit.Force(rapid.Float64Range(1, 1.5).Draw(t, "high"))
	}
	return p
}

// A harder pull is never a better verdict nor a smaller utilisation.
func TestMonotoneInThePeak(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r, p := drawRig(t), drawPeak(t)
		more := p
		k := unit.Force(rapid.Float64Range(1, 3).Draw(t, "times"))
		more.Value, more.Low, more.High = k*p.Value, k*p.Low, k*p.High
		low, high := judge(t, p, r), judge(t, more, r)
		assert.False(t, low.Verdict.Worse(high.Verdict))
		assert.False(t, low.AtHigh.Worse(high.AtHigh))
		for _, a := range low.Items {
			b, ok := high.At(a.Ref)
			require.True(t, ok)
			assert.False(t, a.Verdict.Worse(b.Verdict), a.Name)
			assert.False(t, a.AtHigh.Worse(b.AtHigh), a.Name)
			for _, c := range a.Cases {
				assert.False(t, c.Verdict.Worse(a.Verdict) || c.AtHigh.Worse(a.AtHigh), "an item is judged by the worse case: %s", a.Name)
			}
			assert.False(t, a.Verdict.Worse(a.AtHigh), "the upper end is never better: %s", a.Name)
			if a.Utilisation != nil && b.Utilisation != nil && a.When == b.When {
				assert.LessOrEqual(t, *a.Utilisation, *b.Utilisation*(1+1e-12), a.Name)
			}
		}
	})
}

// The unit of the sentences changes no verdict, no number and no order.
func TestUnitChoiceChangesNoVerdict(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r, p := drawRig(t), drawPeak(t)
		first := judge(t, p, r)
		for _, u := range []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.KilogramF, unit.PoundF, ""} {
			other, err := rating.Judge(p, r, u)
			require.NoError(t, err)
			assert.Equal(t, first.Verdict, other.Verdict)
			assert.Equal(t, first.AtHigh, other.AtHigh)
			require.Len(t, other.Items, len(first.Items))
			for i := range first.Items {
				a, b := first.Items[i], other.Items[i]
				a.Reason, b.Reason = "", ""
				assert.Equal(t, a, b)
			}
		}
	})
}

// Nor does the unit in which a rating is entered: half a pound of force beside
// the limit decides alike for a rating in kN, t, kgf and lbf.
func TestUnitOfARatingChangesNoVerdict(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := unit.Force(rapid.Float64Range(5e3, 200e3).Draw(t, "limit"))
		peak := limit + unit.PoundForce/2*unit.Force(rapid.SampledFrom([]float64{-1, 1}).Draw(t, "side"))
		want := one(t, peak, gearOf("shackle", gear.BowShackle, wll(limit)))
		for _, u := range []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF} {
			typed, err := unit.ParseForce(strconv.FormatFloat(limit.In(u), 'g', -1, 64) + string(u))
			require.NoError(t, err)
			got := one(t, peak, gearOf("shackle", gear.BowShackle, wll(typed)))
			assert.Equal(t, want.Verdict, got.Verdict, u)
			assert.InEpsilon(t, *want.Utilisation, *got.Utilisation, 1e-12)
		}
	})
}

// Whatever the rig, the order is the one that is promised, every item has a
// reason with words in it that permit nothing, and the record is JSON.
func TestResultsHoldTogether(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		res := judge(t, drawPeak(t), drawRig(t))
		for i, it := range res.Items {
			if i > 0 {
				before := res.Items[i-1]
				assert.False(t, it.Verdict.Worse(before.Verdict), "worst first")
				if it.Verdict == before.Verdict && it.Utilisation != nil {
					require.NotNil(t, before.Utilisation)
					assert.GreaterOrEqual(t, *before.Utilisation, *it.Utilisation)
				}
			}
			if it.Verdict == rating.Inside {
				require.NotNil(t, it.Utilisation, "inside a rating that is known")
				assert.LessOrEqual(t, *it.Utilisation, 1.0)
				assert.True(t, it.OfMBS == nil || *it.OfMBS <= 1)
			}
			assertSentence(t, it.Reason)
			_, err := json.Marshal(it.Record())
			require.NoError(t, err)
		}
		assertSentence(t, res.Summary)
	})
}

func assertSentence(t *rapid.T, s string) {
	assertPlain(t, s)
	assert.True(t, strings.HasSuffix(s, "."), s)
	assert.NotContains(t, s, "..")
	assert.NotContains(t, s, "%!")
	assert.NotContains(t, s, "  ")
	assert.NotContains(t, s, "NaN")
}

// TestNearestBesideAWeakestWithoutNumber: who asks which item was nearest its
// rating gets an answer also where one that has none comes first.
func TestNearestBesideAWeakestWithoutNumber(t *testing.T) {
	t.Parallel()
	res := judge(t, rating.Peak{Value: 10 * tonne, Low: 10 * tonne, High: 10 * tonne}, of(
		gearOf("eye", gear.TowEye), gearOf("near", gear.Ring, wll(12.5*tonne)), gearOf("half", gear.Ring, wll(20*tonne)),
	))
	assert.Equal(t, "At a peak of 10 t, eye was not rated for this use. Of 4 items: 1 not rated for this use, 3 inside rating."+
		" Nearest to its limit, or furthest over: near, 80 % of its WLL.", res.Summary)
}
