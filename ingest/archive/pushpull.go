package archive

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// pullsAtOnce is how many pulls one write holds.
const pullsAtOnce = 100

// pushPulls pushes the pulls that the archive has not as they are now.
func (p *Pusher) pushPulls(ctx context.Context, cells []archived, again bool, sum *Sum) error {
	at := map[int64]store.ArchivedCell{}
	for _, c := range cells {
		at[c.ID] = c.at
	}
	for {
		pulls, err := p.cfg.Store.PullsToArchive(ctx, p.cfg.Server.Address(), again, pullsAtOnce)
		if err != nil || len(pulls) == 0 {
			return err
		}
		lines, err := p.pullLines(ctx, at, pulls)
		if err != nil {
			return err
		}
		before := sum.Pulls
		if err := p.pushSome(ctx, pulls, lines, sum); err != nil {
			return err
		}
		if again && sum.Pulls == before {
			return nil // what was refused again would come for ever
		}
	}
}

// pushSome pushes pulls, those that are refused together one by one.
func (p *Pusher) pushSome(ctx context.Context, pulls []store.ArchivedPull, lines [][]byte, sum *Sum) error {
	fault, err := p.sendSome(ctx, slices.Concat(lines...))
	if err != nil {
		return err
	}
	if fault != nil && len(pulls) > 1 {
		for i := range pulls {
			if err := p.pushSome(ctx, pulls[i:i+1], lines[i:i+1], sum); err != nil {
				return err
			}
		}
		return nil
	}
	refusal := ""
	switch {
	case fault == nil:
		sum.Pulls += len(pulls)
	case fault.Kind == Refused:
		refusal = fault.Says
	default:
		return fault
	}
	for _, pull := range pulls {
		if err := p.cfg.Store.PullPushed(ctx, p.cfg.Server.Address(), pull, refusal); err != nil {
			return err
		}
	}
	return nil
}

func (p *Pusher) pullLines(ctx context.Context, at map[int64]store.ArchivedCell, pulls []store.ArchivedPull) ([][]byte, error) {
	plain := make([]store.Pull, len(pulls))
	for i, pull := range pulls {
		plain[i] = pull.Pull
	}
	dated, err := p.cfg.Store.Dated(ctx, plain, time.Local)
	if err != nil {
		return nil, err
	}
	lines := make([][]byte, len(pulls))
	for i, pull := range pulls {
		f, err := pullFields(pull, shock.FromLog(dated[i]))
		if err != nil {
			return nil, err
		}
		lines[i] = point(pullMeasurement, at[pull.Cell], pull.At, f)
	}
	return lines, nil
}

// pullFields are the fields of a pull. One that is not known now may have been
// known when the pull was pushed before: texts are then emptied, and numbers
// that a person entered are 0, which none of them means.
func pullFields(p store.ArchivedPull, fit shock.Pull) (fields, error) {
	doc, err := json.Marshal(p.Pull)
	if err != nil {
		return nil, err
	}
	var f fields
	measured(&f, p.Pull)
	f.integer("pull_id", p.ID)
	f.text("date", fit.Day)
	f.text("test_day", p.TestDay)
	f.text("ground", p.Ground)
	f.text("strap", fit.Class.Strap)
	f.text("depth", p.Depth)
	f.text("notes", p.Notes)
	rigged := ""
	if p.Rig != nil {
		rigged = p.Rig.Name
	}
	f.text("rig", rigged)
	f.number("reference_kg", float64(fit.Reference))
	f.number("puller_kg", float64(fit.Puller))
	f.number("speed_mps", orZero(p.Speed))
	f.number("slack_m", orZero(p.Slack))
	f.integer("attempt", int64(p.Attempt))
	shockFactor(&f, fit)
	setBy := ""
	if p.Limits != nil {
		setBy = p.Limits.Who
	}
	f.text("limits_set_by", setBy)
	aside := ""
	if p.Aside != nil {
		aside = p.Aside.Who
	}
	f.text("set_aside_by", aside)
	f.document("doc", string(doc))
	return f, nil
}

// shockFactor is the factor with its interval, which has no end that is not known.
func shockFactor(f *fields, fit shock.Pull) {
	factor, between := 0.0, shock.FactorInterval{}
	if fit.Reference > 0 {
		factor, between = fit.Factor(), fit.FactorInterval()
	}
	if math.IsInf(between.High, 1) {
		between.High = 0
	}
	f.number("shock_factor", factor)
	f.number("shock_factor_low", between.Low)
	f.number("shock_factor_high", between.High)
}

// measured are the fields of what was found, by their names in pull.Record.
func measured(f *fields, p store.Pull) {
	r := p.Found.Record(p.Found.Start)
	f.text("kind", string(p.Kind))
	f.text("flags", strings.Join(r.Flags, ", "))
	f.text("filter", r.Filter)
	f.integer("start_ns", p.Found.Start)
	f.integer("end_ns", p.Found.End)
	f.integer("peak_at_ns", p.Found.PeakAt)
	f.integer("rebounds", int64(r.Rebounds))
	f.integer("spikes", int64(r.Spikes))
	for _, n := range []struct {
		name string
		v    float64
	}{
		{"peak_N", r.Peak}, {"peak_low_N", r.PeakLow}, {"peak_high_N", r.PeakHigh}, {"peak_reading_N", r.PeakReading}, {"peak_filtered_N", r.PeakFiltered},
		{"rise_time_s", r.RiseTime}, {"rise_time_95_s", r.RiseTime95}, {"rise_rate_N_per_s", r.RiseRate}, {"max_rise_rate_N_per_s", r.MaxRise},
		{"impulse_to_peak_N_s", r.ToPeak}, {"impulse_N_s", r.Impulse}, {"impulse_95_N_s", r.Impulse95}, {"above_half_s", r.AboveHalf},
		{"zero_N", r.Zero}, {"standing_N", r.Standing}, {"noise_sd_N", r.Noise},
	} {
		f.number(n.name, n.v)
	}
	for name, v := range map[string]*float64{
		"steady_N": r.Steady, "rebound_hz": r.Rebound, "damping_ratio": r.Damping, "zero_shift_N": r.ZeroShift, "stick_slip_N": r.StickSlip, "hold_decay_percent": r.HoldDecay, "hold_s": r.Held,
	} {
		f.known(name, v)
	}
}

func orZero[T ~float64](v *T) float64 {
	if v == nil {
		return 0
	}
	return float64(*v)
}
