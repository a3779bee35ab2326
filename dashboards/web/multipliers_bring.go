package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/strict"
	"tautlog/calc/words"
)

// maxPullTable is the longest table of pulls that is fitted while somebody waits:
// some 10,000 pulls.
const maxPullTable = 1 << 20

// broughtSet is what a file brings, as it would be kept, with what was sent, so
// that it can be sent again to keep it.
type broughtSet struct {
	Name, Note, Decimal, Text string

	Says    []string
	Assumed []assumedRow
	Classes []classRow
	Left    []passage // pulls that could not be used
	InUse   string    // the set that is planned with
	Than    []string  // how this one differs from it
	Token   string
}

// cautioned: the cautions stand under the multipliers.
func (broughtSet) cautioned() {}

// bringSet shows what a file brings: a set as it is taken along, or what a table
// of pulls says. It keeps that when the form says so.
func (s *server) bringSet(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(r.PostForm)
	typed, _, err := fileOrText(r)
	if err != nil {
		return err
	}
	k, fitted, err := setIn(r.Context(), typed, f.typed("decimal") == "comma")
	if ctxErr := r.Context().Err(); ctxErr != nil {
		return ctxErr
	}
	if err != nil {
		return refuse(http.StatusBadRequest, text("refused.set", setSays(err)))
	}
	k.Name, k.Version = f.typed("name"), 0
	if note := f.typed("note"); note != "" {
		k.Note = note
	}
	if f.typed("do") == "keep" {
		return s.saveSet(w, r, k, fitted)
	}
	if err := k.Check(); err != nil {
		return refuse(http.StatusBadRequest, text("refused.set", setSays(err)))
	}
	v, err := s.wouldKeep(r.Context(), k, fitted != nil)
	if err != nil {
		return err
	}
	v.Name, v.Note, v.Decimal, v.Text = k.Name, f.typed("note"), f.typed("decimal"), typed
	return s.show(w, r, "bring", text("bring.shown", k.Name), v)
}

// wouldKeep tells what a set says that is not kept yet. Of a table the pulls that
// are left out are named by their lines.
func (s *server) wouldKeep(ctx context.Context, k shock.Kept, table bool) (v broughtSet, err error) {
	v.Token = s.tokenIn(ctx)
	inUse, err := s.book.InUse(ctx)
	if err != nil {
		return v, err
	}
	v.InUse, v.Than = inUse.Label(), setDifferences(inUse.Kept, k)
	latest, err := s.Store.Set(ctx, k.Name, 0)
	switch {
	case err == nil:
		v.Says = append(v.Says, text("bring.there", latest.Label()))
	case !errorsIsNotFound(err):
		return v, err
	}
	v.Assumed = assumedRows(k)
	if k.Fit == nil {
		return v, nil
	}
	pulls, days := k.Behind()
	v.Says = append(v.Says, text("bring.rests", count("shock.pulls", pulls), count("shock.days", days)))
	for _, c := range k.Fit.Classes {
		v.Classes = append(v.Classes, rowOfClass(c))
	}
	v.Left = leftOut(k.Fit.LeftOut, table)
	return v, nil
}

// leftOut tells which pulls could not be used, and why.
func leftOut(all []shock.LeftOutRecord, table bool) []passage {
	var rows []row
	for _, l := range all {
		name := l.Name()
		if table {
			name = text("bring.line", l.Line)
		}
		rows = append(rows, row{Name: name, Says: sentence(l.Reason)})
	}
	if n := len(rows); n > mostRemarks {
		rows = append(rows[:mostRemarks:mostRemarks], row{Name: count("behind.more", n-mostRemarks)})
	}
	if rows == nil {
		return nil
	}
	return []passage{{Title: text("left.title"), Rows: rows}}
}

// setSays tells what is wrong with a set or a table, and where.
func setSays(err error) string {
	if e, ok := errors.AsType[*strict.Error](err); ok && errors.Is(err, strict.ErrComma) {
		return text("bring.comma", e.Line)
	}
	return sentence(reason(err))
}

// setIn reads a set from JSON, or a table of pulls, which it fits.
func setIn(ctx context.Context, typed string, decimalComma bool) (shock.Kept, *shock.Fitted, error) {
	if strings.HasPrefix(strings.TrimSpace(typed), "{") {
		k, err := shock.DecodeKept(strings.NewReader(typed))
		return k, nil, err
	}
	pulls, err := shock.Decode(strings.NewReader(typed), decimalComma)
	if err != nil {
		return shock.Kept{}, nil, err
	}
	if !slices.ContainsFunc(pulls, func(p shock.Pull) bool { return p.Problem() == "" }) {
		return shock.Kept{}, nil, words.Error("bring.none", pulls[0].Line, pulls[0].Problem())
	}
	fitted, err := shock.FitAll(ctx, pulls)
	if err != nil {
		return shock.Kept{}, nil, err
	}
	return fitted.Keep(""), fitted, nil
}
