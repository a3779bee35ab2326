package logfile

import (
	"io"
	"time"

	"tautlog/ingest/parquetfile"
)

// flat is a row of a Parquet file: the columns of the table, with the numbers
// of the record that a table is asked for. A number that is not known is null.
type flat struct {
	ID        int64     `parquet:"id"`
	Day       string    `parquet:"day"`
	Start     time.Time `parquet:"start,timestamp(nanosecond)"`
	End       time.Time `parquet:"end,timestamp(nanosecond)"`
	Cell      string    `parquet:"cell"`
	Kind      string    `parquet:"kind"`
	Ground    string    `parquet:"ground"`
	Strap     string    `parquet:"strap"`
	Rig       string    `parquet:"rig"`
	Settled   bool      `parquet:"settled"`
	Peak      float64   `parquet:"peak_N"`
	PeakLow   float64   `parquet:"peak_low_N"`
	PeakHigh  float64   `parquet:"peak_high_N"`
	RiseTime  float64   `parquet:"rise_time_s"`
	RiseRate  float64   `parquet:"rise_rate_N_per_s"`
	MaxRise   float64   `parquet:"max_rise_rate_N_per_s"`
	ToPeak    float64   `parquet:"impulse_to_peak_N_s"`
	Impulse   float64   `parquet:"impulse_N_s"`
	AboveHalf float64   `parquet:"above_half_s"`
	Steady    *float64  `parquet:"steady_N"`
	Rebound   *float64  `parquet:"rebound_hz"`
	Damping   *float64  `parquet:"damping_ratio"`
	Reference *float64  `parquet:"reference_kg"`
	Puller    *float64  `parquet:"puller_kg"`
	Speed     *float64  `parquet:"speed_mps"`
	Slack     *float64  `parquet:"slack_m"`
	Depth     string    `parquet:"depth"`
	Attempt   int32     `parquet:"attempt"` // 0: not known
	Flags     []string  `parquet:"flags,list"`
	Notes     string    `parquet:"notes"`
	MassLow   *float64  `parquet:"reference_low_kg"`
	MassHigh  *float64  `parquet:"reference_high_kg"`
	Factor    *float64  `parquet:"shock_factor"`
	FactorLow *float64  `parquet:"shock_factor_low"`
	FactorTop *float64  `parquet:"shock_factor_high"`
	OfMass    bool      `parquet:"shock_factor_of_mass"`

	LimitsSetBy string     `parquet:"limits_set_by"` // empty: it starts and ends as found
	FoundStart  *time.Time `parquet:"found_start,optional,timestamp(nanosecond)"`
	FoundEnd    *time.Time `parquet:"found_end,optional,timestamp(nanosecond)"`
}

func (r Row) flat() flat {
	f := r.record()
	out := flat{
		ID: f.ID, Day: f.Day, Start: f.Start, End: f.End, Cell: f.Cell, Kind: string(f.Kind), Ground: f.Ground, Strap: f.Strap,
		Settled: f.Settled, Peak: f.Peak, PeakLow: f.PeakLow, PeakHigh: f.PeakHigh, RiseTime: f.RiseTime, RiseRate: f.RiseRate,
		MaxRise: f.MaxRise, ToPeak: f.ToPeak, Impulse: f.Impulse, AboveHalf: f.AboveHalf, Steady: f.Steady, Rebound: f.Rebound,
		Damping: f.Damping, Reference: f.Reference, Puller: f.Puller, Speed: f.Speed, Slack: f.Slack, Depth: f.Depth,
		Attempt: int32(f.Attempt), Flags: f.Flags, Notes: f.Notes,
		MassLow: f.MassLow, MassHigh: f.MassHigh, Factor: f.Factor.Factor, FactorLow: f.Factor.Low, FactorTop: f.Factor.High, OfMass: f.Factor.OfMass,
	}
	if f.Rig != nil {
		out.Rig = f.Rig.Name
	}
	if l := f.Limits; l != nil {
		out.LimitsSetBy, out.FoundStart, out.FoundEnd = l.SetBy, &l.FoundStart, &l.FoundEnd
	}
	return out
}

func writeParquet(w io.Writer, each func(use func(Row) error) error) error {
	out := parquetfile.NewWriter[flat](w)
	if err := each(func(r Row) error { return out.Write([]flat{r.flat()}) }); err != nil {
		return err
	}
	return out.Close()
}
