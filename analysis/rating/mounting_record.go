package rating

import "tautlog/calc/gear"

// MountingRecord is what the verdict on a mounting stands on, in the form
// that leaves the program. Forces are in newtons; null where not known.
type MountingRecord struct {
	StandsOn   Stands          `json:"stands_on"`
	Holds      string          `json:"holds,omitempty"`
	Engineered string          `json:"engineered_for_vehicle"`
	Tested     string          `json:"tested_on_vehicle"`
	Estimate   *EstimateRecord `json:"estimate"` // null: too little is recorded
	Missing    []string        `json:"missing"`  // what could not be estimated
	Proved     *float64        `json:"proved_N"` // highest proof pull without a set
	BentAt     *float64        `json:"bent_at_N"`
}

// EstimateRecord is an indicative estimate: it permits nothing.
type EstimateRecord struct {
	Limit      float64      `json:"limit_N"`
	By         string       `json:"by"`
	Modes      []ModeRecord `json:"modes"`
	Assumed    []string     `json:"assumed"`
	Source     string       `json:"source"`
	Indicative bool         `json:"indicative"` // always true
	Advice     string       `json:"advice"`     // always "ask an engineer"
}

// ModeRecord is one way to fail, and the pull at which it is used up.
type ModeRecord struct {
	Name    string  `json:"name"`
	Limit   float64 `json:"limit_N"`
	Formula string  `json:"formula"`
}

func (m Mounting) record() *MountingRecord {
	r := &MountingRecord{
		StandsOn: m.Stands, Holds: m.Holds, Engineered: gear.NotKnown.String(), Tested: gear.NotKnown.String(),
		Estimate: estimateRecord(m.Estimate), Missing: listed(m.Estimate.Missing),
	}
	if f := m.Fixing; f != nil {
		r.Engineered, r.Tested = f.Engineered.String(), f.Tested.String()
	}
	r.Proved, r.BentAt = level(m.Fixing.Proved()), level(m.Fixing.Yielded())
	return r
}

func estimateRecord(e gear.Estimate) *EstimateRecord {
	if e.Limit <= 0 {
		return nil
	}
	r := &EstimateRecord{Limit: float64(e.Limit), By: e.By, Assumed: listed(e.Assumed), Source: gear.EstimateSource(), Indicative: true, Advice: "ask an engineer"}
	for _, m := range e.Modes {
		r.Modes = append(r.Modes, ModeRecord{m.Name, float64(m.Limit), m.Formula})
	}
	return r
}

func level(p *gear.ProofPull) *float64 {
	if p == nil {
		return nil
	}
	return p.Level.Finite()
}

// listed is a list that JSON writes as one even where it is empty.
func listed(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
