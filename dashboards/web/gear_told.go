package web

import (
	"bytes"
	"net/http"
	"slices"
	"strings"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// inspectionView is one inspection with its pictures.
type inspectionView struct {
	gear.Inspection
	Pictures []string // addresses
	Files    string   // names of files that are somewhere else
}

// inspectionsOf lists the inspections of an item, the latest first.
func inspectionsOf(it gear.Item) []inspectionView {
	var out []inspectionView
	for _, i := range it.Inspections {
		v := inspectionView{Inspection: i}
		var files []string
		for _, p := range i.Photos {
			if hash, ok := store.AttachmentHash(p); ok {
				v.Pictures = append(v.Pictures, "/pictures/"+hash)
			} else {
				files = append(files, p)
			}
		}
		v.Files = strings.Join(files, ", ")
		out = append(out, v)
	}
	slices.Reverse(out)
	slices.SortStableFunc(out, func(a, b inspectionView) int { return strings.Compare(string(b.Date), string(a.Date)) })
	return out
}

// picture serves a picture that was kept, as what the store found it to be by
// its bytes and as nothing else.
func (s *server) picture(w http.ResponseWriter, r *http.Request) error {
	a, data, err := s.Store.Attachment(r.Context(), r.PathValue("hash"))
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", a.Media)
	h.Set("Content-Disposition", "inline")
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox; frame-ancestors 'none'")
	h.Set("Cache-Control", "private, max-age=31536000, immutable") // its address is its content
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	return nil
}

// mountingView is what is known of how a point is held to its vehicle.
type mountingView struct {
	Facts   []fact
	Says    string // the indicative estimate
	Modes   []fact
	Assumed string
	Missing string
	Source  string
	Proofs  []proofView
}

// mountingOf tells what is recorded of a mounting, and what its bolts are
// estimated to hold with the line straight off the vehicle.
func mountingOf(it gear.Item, u unit.ForceUnit) *mountingView {
	f := it.Fixing
	if f == nil {
		return nil
	}
	straight := unit.Degrees(0)
	v := &mountingView{Source: gear.EstimateSource(), Facts: fixingFacts(f, u), Proofs: proofsOf(f, u)}
	e, ok := f.Estimate(gear.Heading{Angle: &straight})
	v.Assumed, v.Missing = strings.Join(e.Assumed, "; "), strings.Join(e.Missing, "; ")
	if !ok {
		v.Says = text("mounting.noestimate")
		return v
	}
	v.Says = text("mounting.estimate", about(e.Limit, u), e.By)
	for _, m := range e.Modes {
		v.Modes = append(v.Modes, fact{m.Name, about(m.Limit, u) + ": " + m.Formula})
	}
	return v
}

func fixingFacts(f *gear.Fixing, u unit.ForceUnit) []fact {
	out := []fact{
		{text("page.gear.told.engineered"), f.Engineered.Words()},
		{text("page.gear.told.tested"), f.Tested.Words()},
	}
	if f.Member != "" {
		out = append(out, fact{text("page.gear.told.held-to"), f.Member})
	}
	if p := f.Proved(); p != nil {
		out = append(out, fact{text("page.gear.told.proof-pulls"), text("mounting.proved", about(p.Level, u))})
	}
	if p := f.Yielded(); p != nil {
		out = append(out, fact{text("page.gear.told.stayed-bent"), text("mounting.bent", about(p.Level, u))})
	}
	return out
}
