package gather

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/dashboards/logbook"
	"tautlog/dashboards/report"
	"tautlog/ingest/store"
)

// Evidence says what the log says of the classes of some pulls, with these and
// without them.
type Evidence func(ctx context.Context, mine []shock.Pull) (report.Evidence, error)

// FromStore reads the log of a store and fits it while the caller waits.
func FromStore(db *store.Store, zone *time.Location) Evidence {
	return func(ctx context.Context, mine []shock.Pull) (report.Evidence, error) {
		logged, err := db.Logged(ctx, store.PullFilter{}, zone)
		if err != nil {
			return report.Evidence{}, err
		}
		log := make([]shock.Pull, len(logged))
		for i, l := range logged {
			log[i] = shock.FromLog(l)
		}
		return fit(log, mine), nil
	}
}

// FromBook has it from what is kept in memory. What the pulls of a large log
// say is worked out in the background: until then it is told how many they are.
func FromBook(book *logbook.Book) Evidence {
	return func(ctx context.Context, mine []shock.Pull) (report.Evidence, error) {
		log, err := book.Log(ctx)
		if err != nil {
			return report.Evidence{}, err
		}
		says, there, err := book.Answer(ctx, question(mine), func(_ context.Context, t logbook.Told) (any, error) {
			return fit(t.Fitted.Pulls, mine), nil
		})
		if err != nil || !there {
			return report.Evidence{Waiting: len(log.Pulls) + log.Unread}, err
		}
		return says.(report.Evidence), nil
	}
}

// question tells what is asked about some pulls apart from what is asked about
// others. The log counts them by their number.
func question(mine []shock.Pull) string {
	said := "without"
	for _, p := range mine {
		said += fmt.Sprintf(" %d", p.Line)
	}
	return said
}

// fit fits the kinds of pulls that some are of: classes of one kind are fitted
// together, and those of another kind say nothing of them.
func fit(log, mine []shock.Pull) report.Evidence {
	kinds, lines := map[pull.Kind]bool{}, map[int]bool{}
	for _, p := range mine {
		kinds[p.Class.Kind], lines[p.Line] = true, true
	}
	with := slices.DeleteFunc(slices.Clone(log), func(p shock.Pull) bool { return !kinds[p.Class.Kind] })
	without := slices.DeleteFunc(slices.Clone(with), func(p shock.Pull) bool { return lines[p.Line] })
	return report.Evidence{With: shock.Fit(with).Classes, Without: shock.Fit(without).Classes}
}
