package rehearse

import (
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// ItemsOn is the register of gear on a day: the items with what became of them,
// inspections and the owner's rules, and two that are out of service. All of it
// is invented. The rigs keep copies of the items without that.
func (w World) ItemsOn(day time.Time) []gear.Item {
	ago := func(days int) gear.Date { return gear.Date(day.AddDate(0, 0, -days).Format(time.DateOnly)) }
	const keeper = "the quartermaster"
	year, half, pulls, peak := 12, 6, 60, 0.5
	looked := func(days int, found gear.Finding, notes string) []gear.Inspection {
		return []gear.Inspection{{Date: ago(days), Who: keeper, Result: found, Notes: notes}}
	}
	lives := map[string]gear.Life{
		"blue-strap": {
			InspectEvery: &year, Inspections: looked(120, gear.InOrder, "Washed and dried. Stitching whole."),
			RetireRule: &gear.RetireRule{MaxPulls: &pulls, MaxPeak: &peak, Notes: "the club's own rule"},
		},
		"green-rope":     {InspectEvery: &half, Inspections: looked(220, gear.Watch, "Cover furred near the eye at the stuck end.")},
		"bow-shackle-7":  {InspectEvery: &year, Inspections: looked(90, gear.InOrder, "")},
		"bow-shackle-8":  {InspectEvery: &year, Inspections: looked(90, gear.InOrder, "")},
		"bow-shackle-12": {InspectEvery: &year, Inspections: looked(90, gear.InOrder, "")},
		"winch-rope":     {InspectEvery: &half, Inspections: looked(100, gear.InOrder, "Run out to the last layer and wound on anew.")},
	}
	var out []gear.Item
	for _, it := range w.Items {
		it.Life = lives[it.ID]
		out = append(out, it)
	}
	six, five := unit.Length(6), unit.Length(5)
	mbs := func(t unit.Force) []gear.Rating { return []gear.Rating{{Value: t * tonne, Basis: gear.MBS}} }
	return append(out,
		gear.Item{
			ID: "red-strap", Name: "red strap 6 m", Kind: gear.RecoveryStrap, Length: &six, Ratings: mbs(8), Made: "2024",
			Life: gear.Life{Quarantined: &gear.Withdrawal{Date: ago(20), Reason: "cut at the left eye, found after the last training", Who: keeper}},
		},
		gear.Item{
			ID: "tow-strap", Name: "old tow strap", Kind: gear.TowStrap, Length: &five, Made: "2012",
			Life: gear.Life{Retired: &gear.Withdrawal{Date: ago(300), Reason: "nobody can read its label any more", Who: keeper}},
		})
}
