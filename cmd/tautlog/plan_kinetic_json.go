package main

import (
	"io"
)

func (p *kineticPlan) writeJSON(w io.Writer) error {
	return writeJSON(w, struct {
		Peak         float64 `json:"peak_N"`
		Stretch      float64 `json:"stretch_m"`
		TimeToPeak   float64 `json:"time_to_peak_s"`
		Energy       float64 `json:"energy_J"`
		Moves        bool    `json:"moves"`
		Multiplier   float64 `json:"multiplier"`
		MultiplierOf string  `json:"multiplier_of"`
	}{
		float64(p.result.Peak), float64(p.result.Stretch), p.result.PeakAt, p.result.Energy, p.result.Moves,
		p.multiplier(), multiplierOf,
	})
}
