package web

import (
	"strconv"
	"strings"
	"tautlog/calc/words"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
)

// rowOfPull links a pull of a set to its page, where it is one of this store.
func rowOfPull(p shock.Pull) behindRow {
	b := behindRow{Name: p.Name(), Link: pullLink(p.ID)}
	switch {
	case p.Reference > 0 && p.Speed > 0:
		b.Says = text("behind.factor.speed", p.Times(), words.DateOf(p.Day), p.Class, p.Speed)
	case p.Reference > 0:
		b.Says = text("behind.factor", p.Times(), words.DateOf(p.Day), p.Class)
	case p.Speed > 0:
		b.Says = text("behind.pull.speed", words.DateOf(p.Day), p.Class, p.Speed)
	default:
		b.Says = text("behind.pull", words.DateOf(p.Day), p.Class)
	}
	return b
}

// pullLink is the page of a pull, by what it is called; nothing where it is
// not from a log.
func pullLink(id string) string {
	n, err := strconv.ParseInt(strings.TrimPrefix(id, "pull "), 10, 64)
	if err != nil || !strings.HasPrefix(id, "pull ") {
		return ""
	}
	return "/pulls/" + strconv.FormatInt(n, 10)
}

// setRemarks tell of the pulls of which something is to be known.
func setRemarks(r shock.SetRecord) []passage {
	var out []passage
	add := func(title, why string, rows []row) {
		if n := len(rows); n > mostRemarks {
			rows = append(rows[:mostRemarks:mostRemarks], row{Name: count("behind.more", n-mostRemarks), Says: text("behind.where")})
		}
		if len(rows) > 0 {
			out = append(out, passage{Title: title, Text: why, Rows: rows})
		}
	}
	var far, flagged, left []row
	for _, o := range r.Outliers {
		far = append(far, row{Name: o.Name(), Link: pullLink(o.ID), Says: text("outlier.says", o.Factor, shock.Class(o.ClassName), words.DateOf(o.Day))})
	}
	for _, f := range r.Flagged {
		says := text("flagged.least", f.Low)
		if f.High != nil {
			says = text("flagged.between", f.Low, *f.High)
		}
		flagged = append(flagged, row{Name: f.Name(), Link: pullLink(f.ID), Says: says + " " + sentence(strings.Join(pull.FlagNames(f.Flags), ", "))})
	}
	for _, l := range r.LeftOut {
		left = append(left, row{Name: l.Name(), Link: pullLink(l.ID), Says: sentence(l.Reason)})
	}
	add(text("outlier.title"), text("outlier.why"), far)
	add(text("flagged.title"), text("flagged.why"), flagged)
	add(text("left.title"), "", left)
	return out
}
