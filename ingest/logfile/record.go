package logfile

import (
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/rig"
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
	Puller    *float64  `json:"puller_kg"`
	Speed     *float64  `json:"speed_mps"`
	Slack     *float64  `json:"slack_m"`
	Depth     string    `json:"depth"`
	Attempt   int       `json:"attempt"` // 0: not known
	Notes     string    `json:"notes"`
	Rig       *rig.Rig  `json:"rig"` // as it was rigged; null: not known
	pull.Record
}

func (r Row) record() Record {
	p, fit := r.Pull, r.Fit
	return Record{
		ID: p.ID, Cell: r.Cell, Day: fit.Day, Start: time.Unix(0, p.Found.Start).UTC(), End: time.Unix(0, p.Found.End).UTC(),
		Kind: p.Kind, Ground: p.Ground, Strap: fit.Class.Strap, Settled: p.Settled, Reference: number(fit.Reference), Puller: number(fit.Puller),
		Speed: pointed(p.Speed), Slack: pointed(p.Slack), Depth: p.Depth, Attempt: p.Attempt, Notes: p.Notes, Rig: p.Rig,
		Record: p.Found.Record(p.Found.Start),
	}
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
var moreColumns = []string{"start", "end", "cell", "rig", "rise_time_s", "rise_rate_N_per_s", "impulse_N_s", "steady_N", "slack_m", "depth", "attempt", "notes"}

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
	return append(r.Fit.Row(),
		clock(p.Found.Start), clock(p.Found.End), r.Cell, rigged, plain(number(p.Found.RiseTime)), plain(number(p.Found.RiseRate)),
		plain(number(p.Found.Impulse)), plain(pointed(p.Found.Steady)), plain(pointed(p.Slack)), p.Depth, attempt, p.Notes,
	)
}

func clock(t int64) string { return time.Unix(0, t).UTC().Format(time.RFC3339Nano) }
