package web

import (
	"context"
	"slices"

	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// unfit says which items of a rig should not be pulled with, by what the
// register says of them today: out of service, found unfit, past their owner's
// rule or overdue for inspection. A rig keeps copies of its items, which know
// nothing of what became of them since.
func (s *server) unfit(ctx context.Context, g rig.Rig, u unit.ForceUnit) (out []string, err error) {
	at := rigPage{Links: map[string]int64{}}
	today, err := s.asRegistered(ctx, g, &at)
	if err != nil {
		return nil, err
	}
	all, err := s.mismatches(ctx, today, at.Links, u)
	if err != nil {
		return nil, err
	}
	ofItems := []rating.MismatchRule{rating.OutOfService, rating.InspectionSays, rating.InspectionDue, rating.PastRule}
	for _, m := range all {
		if slices.Contains(ofItems, m.Rule) && m.Severity != rating.ToKnow {
			out = append(out, m.Text)
		}
	}
	return out, nil
}
