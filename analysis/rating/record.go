package rating

import (
	"tautlog/calc/gear"
)

// ItemRecord is the verdict on one item in the form that leaves the program
// as JSON. Forces are in newtons; null where they are not known.
type ItemRecord struct {
	Ref           string          `json:"ref"`
	ID            string          `json:"id,omitempty"`
	Name          string          `json:"name"`
	Kind          gear.Kind       `json:"kind"`
	Where         string          `json:"where"`
	Share         *float64        `json:"share"`                 // load over the cell's reading
	ShareText     string          `json:"share_text"`            // the same in symbols and words
	Cells         []string        `json:"share_cells,omitempty"` // of a rig with two cells that were both read: whose readings the share is of
	Cases         []CaseRecord    `json:"cases,omitempty"`
	Reason        string          `json:"reason"`
	Mounting      *MountingRecord `json:"mounting,omitempty"` // of a mounting only
	LoadRecord                    // of the case that decides
	VerdictRecord                 // of the case that decides
}

// CaseRecord is one of the two cases of a bridle that may not share.
type CaseRecord struct {
	When  string   `json:"when"`
	Share *float64 `json:"share"`
	LoadRecord
	VerdictRecord
}

// LoadRecord is a load against its limit.
type LoadRecord struct {
	Carried    *float64   `json:"carried_N"`
	Low        *float64   `json:"carried_low_N"`
	High       *float64   `json:"carried_high_N"`
	LowerBound bool       `json:"carried_is_lower_bound"`
	Limit      *float64   `json:"limit_N"`
	LimitBasis gear.Basis `json:"limit_basis,omitempty"`
	LimitText  string     `json:"limit_text,omitempty"`
	Working    bool       `json:"limit_is_working"` // false: a breaking strength or stamped number stands in
	OfLimit    *float64   `json:"of_limit"`
	OfWLL      *float64   `json:"of_wll"`
	OfMBS      *float64   `json:"of_mbs"`
}

// VerdictRecord is a verdict at the reading and at the upper end of the
// interval.
type VerdictRecord struct {
	Verdict Verdict `json:"verdict"`
	AtHigh  Verdict `json:"verdict_at_high"`
}

// Record gives the verdict in the form that leaves the program.
func (it Item) Record() ItemRecord {
	r := ItemRecord{
		Ref: it.Ref, ID: it.ID, Name: it.Name, Kind: it.Kind, Where: it.Where, ShareText: it.Share.Sentence, Cells: it.Share.Cells,
		Share: it.Load.share(), Reason: it.Reason, LoadRecord: it.Load.record(), VerdictRecord: it.Load.verdicts(),
	}
	if it.Mounting != nil {
		r.Mounting = it.Mounting.record()
	}
	for _, c := range it.Cases {
		r.Cases = append(r.Cases, CaseRecord{c.When, c.share(), c.record(), c.verdicts()})
	}
	return r
}

func (l Load) verdicts() VerdictRecord { return VerdictRecord{l.Verdict, l.AtHigh} }

func (l Load) share() *float64 {
	if !l.Known {
		return nil
	}
	return &l.Factor
}

func (l Load) record() LoadRecord {
	r := LoadRecord{LowerBound: l.Open, OfLimit: l.Utilisation, OfWLL: l.OfWLL, OfMBS: l.OfMBS}
	if l.Known {
		r.Carried = l.Carried.Finite()
	}
	if l.Low != 0 || l.High != 0 {
		r.Low, r.High = l.Low.Finite(), l.High.Finite()
	}
	if l.Limit != nil {
		r.Limit, r.LimitBasis = l.Limit.Value.Finite(), l.Limit.Basis
		r.LimitText, r.Working = l.Limit.Text, l.Limit.Working
	}
	return r
}
