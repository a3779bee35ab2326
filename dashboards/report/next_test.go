package report_test

import (
	"html/template"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/dashboards/report"
)

// todo is the list under what to do next.
func todo(t *testing.T, d report.Document) []string {
	t.Helper()
	for i, b := range d.Blocks {
		if h, ok := b.(report.Heading); ok && h.Text == "What to do next" {
			list, ok := d.Blocks[i+1].(report.Steps)
			require.True(t, ok)
			var said []string
			for _, it := range list.Items {
				said = append(said, it.About+" "+it.Text)
			}
			return said
		}
	}
	require.Fail(t, "nothing to do")
	return nil
}

// TestEachStepIsToldOnce: five pulls on one rig ask for the same steps. Each is
// told once, with the pulls that it is for and the numbers of the hardest.
func TestEachStepIsToldOnce(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	first := s.Pulls[0]
	s.Pulls = nil
	for i, kN := range []float64{30, 31, 36, 32, 5} {
		p := first
		p.Number = int64(3 + i)
		p.Found.Peak = unit.Force(kN * 1000)
		p.Found.PeakLow, p.Found.PeakHigh = p.Found.Peak-100, p.Found.Peak+100
		s.Pulls = append(s.Pulls, p)
	}
	rigless := first
	rigless.Number, rigless.Rig = 9, nil
	s.Pulls = append(s.Pulls, rigless)
	items := todo(t, report.Build(s))
	res, err := rating.Judge(rating.Peak{Value: 36e3, Low: 35.9e3, High: 36.1e3}, *first.Rig, s.Unit)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, item := range items {
		name, _, _ := strings.Cut(item, ":")
		assert.False(t, seen[item], "told twice: %s", item)
		seen[item] = true
		for _, it := range res.Items {
			if it.Name == name {
				assert.NotContains(t, seen, name, "two steps for %s", name)
				seen[name] = true
			}
		}
	}
	worst := -1
	for _, item := range items {
		name, _, _ := strings.Cut(item, ":")
		if it, ok := find(res, name); ok && it.Verdict == rating.Over {
			assert.Contains(t, item, "over rating in pull", item)
			assert.Contains(t, item, "Pull 5: ", "the numbers of the hardest pull: %s", item)
			assert.Contains(t, item, "Take it out of use until")
			worst++
		}
	}
	assert.Positive(t, worst+1, "the rig has items over their rating at 36 kN")
	all := strings.Join(items, "\n")
	assert.Contains(t, all, "pulls 3 to 6")
	assert.Contains(t, all, "Pull 9: No rig was recorded with this pull")
}

func find(res rating.Result, name string) (rating.Item, bool) {
	for _, it := range res.Items {
		if it.Name == name {
			return it, true
		}
	}
	return rating.Item{}, false
}

// TestCautionsComeFirst: in short above what happened, whole at the end.
func TestCautionsComeFirst(t *testing.T) {
	t.Parallel()
	d := report.Build(source(t, "kinetic-bridle.json"))
	first, ok := d.Blocks[0].(report.Words)
	require.True(t, ok)
	for _, c := range rating.Cautions() {
		assert.Contains(t, first.Text, c.Short)
	}
}

// TestWaitingForTheLog: a report that is made while a large log is being worked
// out says so, and has no numbers in their place.
func TestWaitingForTheLog(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	s.Log.Waiting = 100_000
	page := written(t, report.Build(s))
	assert.Contains(t, page, "is being worked out, from 100,000 pulls")
	assert.NotContains(t, page, "no such pull")
}

// TestADayTellsEachItemOnce: the reasons stand under what to do next, and the
// sections of the pulls have the verdicts in short; what is taken for granted is
// told once for all. The report of one pull has every reason with the pull.
func TestADayTellsEachItemOnce(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	s.Pulls[0].Found.PeakLow, s.Pulls[0].Found.PeakHigh = 29.9e3, 30.1e3
	one := report.Build(s)
	for i, kN := range []float64{31, 5} {
		p := s.Pulls[0]
		p.Number = int64(2 + i)
		p.Found.Peak = unit.Force(kN * 1000)
		p.Found.PeakLow, p.Found.PeakHigh = p.Found.Peak-100, p.Found.Peak+100
		s.Pulls = append(s.Pulls, p)
	}
	day := report.Build(s)
	shares := 0
	for _, b := range day.Blocks {
		table, ok := b.(report.Table)
		for i := 0; ok && i < len(table.Rows); i++ {
			if row := table.Rows[i]; row[0] == string(rating.Inside) {
				assert.Regexp(t, `^[^;]*: \d+ %(;|$)`, row[1], "a name may end in a number")
				shares++
			}
		}
	}
	assert.Positive(t, shares)
	res, err := rating.Judge(rating.Peak{Value: 31e3, Low: 30.9e3, High: 31.1e3, Kind: s.Pulls[0].Kind}, *s.Pulls[0].Rig, s.Unit)
	require.NoError(t, err)
	verdicts := func(d report.Document) (n int) {
		for _, b := range d.Blocks {
			if _, ok := b.(report.Verdict); ok {
				n++
			}
		}
		return n
	}
	assert.Len(t, res.Items, verdicts(one), "every item of the one pull")
	assert.Zero(t, verdicts(day))
	html := written(t, day)
	for _, it := range res.Items {
		assert.True(t, strings.Contains(html, template.HTMLEscapeString(it.Reason)), "the hardest pull speaks for %s: %s", it.Name, it.Reason)
	}
	for _, r := range res.Remarks {
		assert.Equal(t, 1, strings.Count(html, template.HTMLEscapeString(r)), r)
	}
	assert.True(t, strings.Contains(html, `<h2 class="page">Pull 2`), "each pull begins a sheet")
}

// TestAdviceIsForOneOrMany: the two legs of a bridle are told together, and what
// to do about them speaks of both.
func TestAdviceIsForOneOrMany(t *testing.T) {
	t.Parallel()
	s := source(t, "kinetic-bridle.json")
	s.Pulls[0].Found.Peak, s.Pulls[0].Found.PeakLow, s.Pulls[0].Found.PeakHigh = 90e3, 89.9e3, 90.1e3
	together, alone := 0, 0
	for _, item := range todo(t, report.Build(s)) {
		about, _, _ := strings.Cut(item, ":")
		many := strings.Contains(about, " and ")
		for _, one := range []string{"Take it ", "Look it over", "this one over"} {
			if many {
				assert.NotContains(t, item, one)
			}
		}
		if strings.Contains(item, "Take them ") || strings.Contains(item, "Look them over") || strings.Contains(item, "these over") {
			assert.True(t, many, item)
			together++
		} else if !many {
			alone++
		}
	}
	assert.Positive(t, together, "no two items were told together")
	assert.Positive(t, alone)
}

// TestAdviceOnALowerBound: where a gap hides the peak, what an item may carry is
// known and what it carried is not. Nobody is sent to look up its rating.
func TestAdviceOnALowerBound(t *testing.T) {
	t.Parallel()
	it := rating.Item{Load: rating.Load{Verdict: rating.NotJudged, AtHigh: rating.Over, Open: true, Limit: &rating.Limit{Value: 30e3, Working: true}}}
	assert.Equal(t, "Look it over as if it had been over its rating: the true peak is not known, and it may have been.", report.Advice(it))
	it.Limit.Working = false
	assert.Equal(t, "Find out what it may carry and enter it in the register.", report.Advice(it), "a breaking strength alone")
	it.Limit, it.Open = nil, false
	assert.Equal(t, "Find out what it may carry and enter it in the register.", report.Advice(it))
}
