package gear_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

func TestCeilingIsTheLowestNumber(t *testing.T) {
	t.Parallel()
	five := 5.0
	for name, c := range map[string]struct {
		ratings []gear.Rating
		want    unit.Force
	}{
		"no rating":                          {nil, 0},
		"a working limit":                    {[]gear.Rating{{Value: 50_000, Basis: gear.WLL}}, 50_000},
		"breaking strength over factor":      {[]gear.Rating{{Value: 100_000, Basis: gear.MBS, DesignFactor: &five}}, 20_000},
		"breaking strength alone":            {[]gear.Rating{{Value: 80_000, Basis: gear.MBS}}, 80_000},
		"stamped, basis unknown":             {[]gear.Rating{{Value: 34_000, Basis: gear.Unknown}}, 34_000},
		"the lowest of several":              {[]gear.Rating{{Value: 50_000, Basis: gear.WLL}, {Value: 30_000, Basis: gear.WLL}}, 30_000},
		"a pair's number is not for one":     {[]gear.Rating{{Value: 30_000, Basis: gear.WLL, Together: gear.Pair}, {Value: 50_000, Basis: gear.WLL}}, 50_000},
		"half of a pair's where that is all": {[]gear.Rating{{Value: 49_000, Basis: gear.WLL, Together: gear.Pair}}, 24_500},
	} {
		assert.Equal(t, c.want, gear.Item{Ratings: c.ratings}.Ceiling(), name)
	}
}

func TestOverloadAsksUntilSomebodyLooked(t *testing.T) {
	t.Parallel()
	rated := []gear.Rating{{Value: 30_000, Basis: gear.WLL}}
	on := func(d gear.Date) []gear.Inspection { return []gear.Inspection{{Date: d, Result: gear.InOrder}} }
	for name, c := range map[string]struct {
		over gear.Date
		seen []gear.Inspection
		asks bool
	}{
		"never too much":                     {"", nil, false},
		"never looked over":                  {"2026-03-14", nil, true},
		"looked over before":                 {"2026-03-14", on("2026-03-13"), true},
		"on that day":                        {"2026-03-14", on("2026-03-14"), false},
		"since":                              {"2026-03-14", on("2026-04-01"), false},
		"in a month that may have been then": {"2026-03-14", on("2026-03"), false},
		"in the month before":                {"2026-03-14", on("2026-02"), true},
	} {
		say, asks := gear.Item{Ratings: rated, Life: gear.Life{Inspections: c.seen}}.Overload(gear.Used{Over: c.over}, unit.Kilonewton)
		assert.Equal(t, c.asks, asks, name)
		if asks {
			assert.Equal(t, "It may have carried more than 30 kN, the lowest number that it is rated for, last on 14 March 2026; no inspection since then is recorded.", say)
		}
	}
}
