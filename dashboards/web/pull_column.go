package web

import (
	"slices"

	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// peakColumn is the place of the last digit of a column of peaks: that of three
// quarters of them at least by how sure each is, so that the column
// has one number of decimals. A peak that is less sure has fewer.
type peakColumn unit.Place

func peakColumnOf(pulls []store.Pull, u unit.ForceUnit) peakColumn {
	var places []unit.Place
	for _, p := range pulls {
		places = append(places, unit.IntervalPlace(p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh, u))
	}
	if len(places) == 0 {
		return 0
	}
	slices.Sort(places)
	return peakColumn(places[len(places)*3/4])
}

// show is the peak of a pull in the column, and its interval in words.
func (c peakColumn) show(p store.Pull, u unit.ForceUnit) listedPeak {
	f := p.Found
	last := max(unit.Place(c), unit.IntervalPlace(f.Peak, f.PeakLow, f.PeakHigh, u))
	peak, interval := peakTo(f, last, u)
	return listedPeak{peak, interval}
}

// listedPeak is a peak as a list shows it, and its interval.
type listedPeak struct{ Peak, Interval string }
