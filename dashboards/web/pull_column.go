package web

import (
	"slices"

	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// peakColumn is the force that the last digit of a column of peaks stands for:
// that of three quarters of them at least by how sure each is, so that the column
// has one number of decimals. A peak that is less sure has fewer.
type peakColumn unit.Force

func peakColumnOf(pulls []store.Pull) peakColumn {
	var digits []unit.Force
	for _, p := range pulls {
		digits = append(digits, unit.IntervalDigit(p.Found.PeakLow, p.Found.PeakHigh))
	}
	if len(digits) == 0 {
		return 0
	}
	slices.Sort(digits)
	return peakColumn(digits[len(digits)*3/4])
}

// show is the peak of a pull in the column, and its interval in words.
func (c peakColumn) show(p store.Pull, u unit.ForceUnit) listedPeak {
	f := p.Found
	digit := max(unit.Force(c), unit.IntervalDigit(f.PeakLow, f.PeakHigh))
	peak, interval := peakTo(f, digit, u)
	return listedPeak{peak, interval}
}

// listedPeak is a peak as a list shows it, and its interval.
type listedPeak struct{ Peak, Interval string }
