package shock

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"tautlog/calc/strict"
)

// WriteClasses writes what to plan with for each class as CSV, one line a
// class: kind, ground, strap, pulls, days, median, upper_95_95, pooled,
// assumed, source, set, version. A number that is not known is left empty, and
// so is a part of a class that stands for any.
func (k Kept) WriteClasses(w io.Writer) error {
	rows := [][]string{{"kind", "ground", "strap", "pulls", "days", "median", "upper_95_95", "pooled", "assumed", "source", "set", "version"}}
	set, version := strict.Cell(k.Name), strconv.Itoa(k.Version)
	if k.Fit != nil {
		for _, c := range k.Fit.Classes {
			upper := ""
			if c.Upper != nil {
				upper = plain(*c.Upper)
			}
			rows = append(rows, []string{string(c.Kind), strict.Cell(c.Ground), strict.Cell(c.Strap), strconv.Itoa(c.Pulls), strconv.Itoa(c.Days),
				plain(c.Median), upper, strconv.FormatBool(c.Pooled), "", "fitted", set, version})
		}
	}
	for _, a := range k.Assumed {
		rows = append(rows, []string{string(a.Class.Kind), strict.Cell(a.Class.Ground), strict.Cell(a.Class.Strap), "", "", "", "", "",
			plain(a.Multiplier), strict.Cell(a.Source), set, version})
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// WritePulls writes pulls as CSV that Decode reads back, all but the line.
func WritePulls(w io.Writer, pulls []Pull) error {
	rows := [][]string{PullColumns()}
	for _, p := range pulls {
		rows = append(rows, p.Row())
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// PullColumns are the columns of Row.
func PullColumns() []string {
	return []string{"id", "day", "kind", "ground", "strap", "peak_N", "peak_low_N", "peak_high_N", "reference_kg",
		"speed_mps", "puller_kg", "strap_length_m", "strap_mbs_N", "flags", "remark", "reference_low_kg", "reference_high_kg"}
}

// Row is the pull as a row of a table that Decode reads back.
func (p Pull) Row() []string {
	row := []string{strict.Cell(p.ID), strict.Cell(p.Day), strict.Cell(string(p.Class.Kind)), strict.Cell(p.Class.Ground), strict.Cell(p.Class.Strap)}
	for _, x := range []float64{float64(p.Peak), float64(p.Low), float64(p.High), float64(p.Reference),
		float64(p.Speed), float64(p.Puller), float64(p.StrapLength), float64(p.StrapMBS)} {
		row = append(row, plain(x))
	}
	return append(row, strict.Cell(strings.Join(p.Flags, "; ")), strict.Cell(p.Remark), plain(float64(p.ReferenceLow)), plain(float64(p.ReferenceHigh)))
}

// plain writes a number; nothing for zero, which is not known.
func plain(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}
