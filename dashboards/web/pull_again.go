package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"

	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// againView tells what measuring a pull again made other.
type againView struct {
	When, Who string
	Changed   []fact // was and is, of what differs
}

// stalePull says by what a pull was measured and what is in force for its time
// now; empty where that is the same, or it is not over yet.
func (s *server) stalePull(ctx context.Context, p store.Pull, c store.Cell) (string, error) {
	cell, err := derive.Of(ctx, s.Store, c)
	if err != nil || !p.Settled || p.By == cell.By(p.Found.PeakAt) {
		return "", err
	}
	kept, err := s.Store.Calibrations(ctx, c.ID)
	return text("again.stale", s.derivedBy(p.By, kept), s.derivedBy(cell.By(p.Found.PeakAt), kept)), err
}

// derivedBy is by what a force was derived, in words.
func (s *server) derivedBy(by store.Derived, kept []store.Calibration) string {
	says := text("again.setup")
	if i := slices.IndexFunc(kept, func(k store.Calibration) bool { return k.Number == by.Calibration }); i >= 0 {
		says = kept[i].Label()
	}
	if by.Zero != 0 {
		return text("again.zero", says, s.at(by.Zero))
	}
	return says
}

// measurePullAgain measures one pull again by what is in force now.
func (s *server) measurePullAgain(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	cell, err := derive.Of(r.Context(), s.Store, c)
	if err != nil {
		return err
	}
	if !p.Settled {
		return refuse(http.StatusConflict, text("refused.unsettled"))
	}
	done, err := derive.Again(r.Context(), s.Store, cell, []store.Pull{p})
	if err != nil {
		return err
	}
	if done[0].Problem != "" {
		return refuse(http.StatusConflict, text("refused.again", done[0].Problem))
	}
	http.Redirect(w, r, pathOf("pulls", p.ID)+"#again", http.StatusSeeOther)
	return nil
}

// measuredAgain finds in the journal when a pull was last measured by something
// else than before, and tells what that changed; nil where it never was.
func (s *server) measuredAgain(ctx context.Context, p store.Pull, c store.Cell, u unit.ForceUnit) (*againView, error) {
	changes, err := s.Store.Changes(ctx, store.JournalFilter{What: "pull", Ref: p.ID, Limit: shownChanges})
	if err != nil {
		return nil, err
	}
	for _, ch := range changes {
		var before, after store.Pull
		if ch.Before == nil || ch.After == nil {
			continue
		}
		if err := errors.Join(json.Unmarshal(ch.Before, &before), json.Unmarshal(ch.After, &after)); err != nil {
			return nil, err
		}
		if before.By == after.By {
			continue
		}
		v := &againView{When: s.at(ch.At.UnixNano()), Who: ch.Who}
		v.Changed, err = s.becameOf(ctx, p, before, after, c, u)
		return v, err
	}
	return nil, nil
}

// becameOf lists what differs between two measurements of a pull: by what they
// were, their numbers, and the verdicts.
func (s *server) becameOf(ctx context.Context, p, before, after store.Pull, c store.Cell, u unit.ForceUnit) ([]fact, error) {
	kept, err := s.Store.Calibrations(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	var told [2]result
	for i, q := range []*store.Pull{&before, &after} {
		q.ID, q.Cell, q.Settled = p.ID, p.Cell, p.Settled
		if told[i], err = s.result(ctx, *q, c.Name, u); err != nil {
			return nil, err
		}
	}
	out := []fact{{text("again.by"), text("again.became", s.derivedBy(before.By, kept), s.derivedBy(after.By, kept))}}
	was, is := lines(told[0]), lines(told[1])
	for _, l := range was {
		i := slices.IndexFunc(is, func(f fact) bool { return f.Name == l.Name })
		if i >= 0 && is[i].Value != l.Value {
			out = append(out, fact{l.Name, text("again.became", strings.TrimSuffix(l.Value, "."), is[i].Value)}) // it may be sentences
		}
	}
	return out, nil
}

// lines are the numbers and verdicts of a result, by their names.
func lines(r result) []fact {
	out := append([]fact{{text("again.peak"), r.Peak + " " + r.Interval}, {text("again.kind"), r.Kind}}, r.Facts...)
	for _, v := range r.Verdicts {
		out = append(out, fact{v.Name, v.Verdict.String()})
	}
	return out
}
