package shock

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"tautlog/analysis/pull"
	"tautlog/calc/strict"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// pullRecord is a Pull as JSON: the keys are the columns of Decode, what is
// not known is left out.
type pullRecord struct {
	ID   string `json:"id,omitempty"`
	Line int    `json:"line,omitempty"`
	Day  string `json:"day"`
	ClassName
	Peak        float64  `json:"peak_N,omitempty"`
	Low         float64  `json:"peak_low_N,omitempty"`
	High        float64  `json:"peak_high_N,omitempty"`
	Reference   float64  `json:"reference_kg,omitempty"`
	MassLow     float64  `json:"reference_low_kg,omitempty"`
	MassHigh    float64  `json:"reference_high_kg,omitempty"`
	Speed       float64  `json:"speed_mps,omitempty"`
	Puller      float64  `json:"puller_kg,omitempty"`
	StrapLength float64  `json:"strap_length_m,omitempty"`
	StrapMBS    float64  `json:"strap_mbs_N,omitempty"`
	Flags       []string `json:"flags,omitempty"`
	Remark      string   `json:"remark,omitempty"`
}

// MarshalJSON writes the pull with the columns of Decode as keys, in SI units.
func (p Pull) MarshalJSON() ([]byte, error) {
	return json.Marshal(pullRecord{
		ID: p.ID, Line: p.Line, Day: p.Day, ClassName: p.Class.Name(),
		Peak: float64(p.Peak), Low: float64(p.Low), High: float64(p.High), Reference: float64(p.Reference), MassLow: float64(p.ReferenceLow), MassHigh: float64(p.ReferenceHigh),
		Speed: float64(p.Speed), Puller: float64(p.Puller), StrapLength: float64(p.StrapLength), StrapMBS: float64(p.StrapMBS),
		Flags: p.Flags, Remark: p.Remark,
	})
}

// UnmarshalJSON reads what MarshalJSON writes, and refuses a key that is not
// of it.
func (p *Pull) UnmarshalJSON(text []byte) error {
	var r pullRecord
	if err := decodeStrictly(bytes.NewReader(text), &r); err != nil {
		return err
	}
	*p = r.pull()
	return nil
}

func (r pullRecord) pull() Pull {
	return Pull{
		ID: r.ID, Line: r.Line, Day: r.Day, Class: Class{Kind: pull.Kind(r.Kind), Ground: r.Ground, Strap: r.Strap},
		Peak: unit.Force(r.Peak), Low: unit.Force(r.Low), High: unit.Force(r.High), Reference: unit.Mass(r.Reference), ReferenceLow: unit.Mass(r.MassLow), ReferenceHigh: unit.Mass(r.MassHigh),
		Speed: unit.Speed(r.Speed), Puller: unit.Mass(r.Puller), StrapLength: unit.Length(r.StrapLength), StrapMBS: unit.Force(r.StrapMBS),
		Flags: r.Flags, Remark: r.Remark,
	}
}

// keptRecord is a Kept as JSON, with its pulls as records, so that each value of
// it can be refused with its place.
type keptRecord struct {
	Name    string       `json:"name"`
	Version int          `json:"version"`
	Made    string       `json:"made"`
	Who     string       `json:"who"`
	Note    string       `json:"note"`
	Assumed []Assumption `json:"assumed,omitempty"`
	Pulls   []pullRecord `json:"pulls,omitempty"`
	Fit     *SetRecord   `json:"fit,omitempty"`
}

// DecodeKept reads one kept set from JSON. It refuses with the line what is not
// understood: a key that is unknown, anything behind the set; and a set that
// Check refuses.
func DecodeKept(r io.Reader) (k Kept, err error) {
	var doc keptRecord
	if _, err := strict.Decode(r, &doc); err != nil {
		return Kept{}, fmt.Errorf("%w: %w", ErrKept, err)
	}
	k = Kept{Name: doc.Name, Version: doc.Version, Made: doc.Made, Who: doc.Who, Note: doc.Note, Assumed: doc.Assumed, Fit: doc.Fit}
	for _, p := range doc.Pulls {
		k.Pulls = append(k.Pulls, p.pull())
	}
	return k, k.Check()
}

func decodeStrictly(r io.Reader, v any) error {
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return words.Error("shock.kept.behind")
	}
	return nil
}
