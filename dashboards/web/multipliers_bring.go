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

// bringSet keeps what a file brings: a set as it is taken along, or what a
// table of pulls says.
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
	return s.saveSet(w, r, k, fitted)
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
