package web

import "tautlog/analysis/rating"

// cautions are what stands wherever a load is shown.
func cautions() []rating.Caution { return rating.Cautions() }
