package logfile

import (
	"math"
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/rig"
	"tautlog/calc/strict"
	"tautlog/ingest/store"
)

// Record is a pull of the log as it leaves the program as JSON.
type Record struct {
	ID        int64     `json:"id"`
	Cell      string    `json:"cell"`
	Day       string    `json:"day"` // the date
	Start     time.Time `json:"start"`
	End       time.Time `json:"end"`
	Kind      pull.Kind `json:"kind"`
	Ground    string    `json:"ground"`
	Strap     string    `json:"strap"`
	Settled   bool      `json:"settled"` // false: it may still go on
	Reference *float64  `json:"reference_kg"`
	MassLow   *float64  `json:"reference_low_kg"` // null: how well the mass is known is not recorded
	MassHigh  *float64  `json:"reference_high_kg"`
	Factor
	Puller  *float64 `json:"puller_kg"`
	Speed   *float64 `json:"speed_mps"`
	Slack   *float64 `json:"slack_m"`
	Depth   string   `json:"depth"`
	Attempt int      `json:"attempt"` // 0: not known
	Notes   string   `json:"notes"`
	Rig     *rig.Rig `json:"rig"`    // as it was rigged; null: not known
	Limits  *Limits  `json:"limits"` // null: it starts and ends as found
	pull.Record
}

// Limits are a start and an end that a person has set, and what was found
// without them. What is measured of the pull is measured within them.
type Limits struct {
	From       time.Time   `json:"from"`
	To         time.Time   `json:"to"`
	SetBy      string      `json:"set_by"`
	SetAt      time.Time   `json:"set_at"`
	Made       bool        `json:"made"`        // by a person: nothing was found there, and found is what was measured
	PartedFrom int64       `json:"parted_from"` // of one that was made: the pull that it was parted from; 0: none
	FoundStart time.Time   `json:"found_start"`
	FoundEnd   time.Time   `json:"found_end"`
	Found      pull.Record `json:"found"` // its times in seconds from found_start
}

// LimitsOf gives the limits of a pull; nil where none are set.
func LimitsOf(p store.Pull) *Limits {
	l := p.Limits
	if l == nil {
		return nil
	}
	utc := func(t int64) time.Time { return time.Unix(0, t).UTC() }
	return &Limits{utc(l.From), utc(l.To), l.Who, utc(l.At), l.Made, l.Of, utc(l.Found.Start), utc(l.Found.End), l.Found.Record(l.Found.Start)}
}

func (r Row) record() Record {
	p, fit := r.Pull, r.Fit
	return Record{
		ID: p.ID, Cell: r.Cell, Day: fit.Day, Start: time.Unix(0, p.Found.Start).UTC(), End: time.Unix(0, p.Found.End).UTC(),
		Kind: p.Kind, Ground: p.Ground, Strap: fit.Class.Strap, Settled: p.Settled, Reference: number(fit.Reference), MassLow: number(fit.ReferenceLow), MassHigh: number(fit.ReferenceHigh), Factor: factorOf(fit), Puller: number(fit.Puller),
		Speed: pointed(p.Speed), Slack: pointed(p.Slack), Depth: p.Depth, Attempt: p.Attempt, Notes: p.Notes, Rig: p.Rig, Limits: LimitsOf(p),
		Record: p.Found.Record(p.Found.Start),
	}
}

// Factor is the shock factor of a pull with its 95 % interval.
type Factor struct {
	Factor *float64 `json:"shock_factor"`         // null: no reference mass
	Low    *float64 `json:"shock_factor_low"`     // null: nothing but the factor is known
	High   *float64 `json:"shock_factor_high"`    // null also: the factor is only a lower bound
	OfMass bool     `json:"shock_factor_of_mass"` // the interval holds how well the mass is known, else it is that of the peak alone
}

func factorOf(p shock.Pull) (f Factor) {
	if p.Reference == 0 {
		return f
	}
	between := p.FactorInterval()
	f.Factor, f.OfMass = number(p.Factor()), between.OfMass
	if between.Known() {
		f.Low = number(between.Low)
	}
	if between.Known() && !math.IsInf(between.High, 1) {
		f.High = number(between.High)
	}
	return f
}

// number is null for zero, which is not known.
func number[T ~float64](v T) *float64 {
	if v == 0 {
		return nil
	}
	f := float64(v)
	return &f
}

func pointed[T ~float64](v *T) *float64 {
	if v == nil {
		return nil
	}
	f := float64(*v)
	return &f
}

// moreColumns are those that a fit does not need.
var moreColumns = []string{"start", "end", "cell", "rig", "rise_time_s", "rise_rate_N_per_s", "impulse_N_s", "steady_N", "slack_m", "depth", "attempt", "notes",
	"shock_factor", "shock_factor_low", "shock_factor_high", "shock_factor_of_mass", "limits_set_by", "found_start", "found_end"}

func (r Row) cells() []string {
	p, rigged := r.Pull, ""
	if p.Rig != nil {
		rigged = p.Rig.Name
	}
	plain := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	attempt := ""
	if p.Attempt > 0 {
		attempt = strconv.Itoa(p.Attempt)
	}
	factor := factorOf(r.Fit)
	setBy, foundStart, foundEnd := "", "", ""
	if l := p.Limits; l != nil {
		setBy, foundStart, foundEnd = l.Who, clock(l.Found.Start), clock(l.Found.End)
	}
	return append(r.Fit.Row(),
		clock(p.Found.Start), clock(p.Found.End), strict.Cell(r.Cell), strict.Cell(rigged), plain(number(p.Found.RiseTime)), plain(number(p.Found.RiseRate)),
		plain(number(p.Found.Impulse)), plain(pointed(p.Found.Steady)), plain(pointed(p.Slack)), strict.Cell(p.Depth), attempt, strict.Cell(p.Notes),
		plain(factor.Factor), plain(factor.Low), plain(factor.High), strconv.FormatBool(factor.OfMass),
		strict.Cell(setBy), foundStart, foundEnd,
	)
}

func clock(t int64) string { return time.Unix(0, t).UTC().Format(time.RFC3339Nano) }
