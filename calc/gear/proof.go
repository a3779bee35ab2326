package gear

// Bases of numbers that follow from what is recorded of a mounting. No file
// has them: they are worked out, and neither is ever a working limit.
const (
	// Estimated is an indicative estimate, see Fixing.Estimate.
	Estimated Basis = "indicative estimate"
	// TookASet is the lowest proof pull after which a mounting stayed bent.
	TookASet Basis = "took a set"
)

// Proved is the highest proof pull without a set that lies below the lowest
// one with a set; nil where there is none. It is evidence up to its level,
// for the direction in which it was pulled, and no working limit.
func (f *Fixing) Proved() *ProofPull {
	if f == nil {
		return nil
	}
	yielded := f.Yielded()
	var best *ProofPull
	for i, p := range f.Proofs {
		if p.bent() || yielded != nil && p.Level >= yielded.Level {
			continue
		}
		if best == nil || p.Level > best.Level {
			best = &f.Proofs[i]
		}
	}
	return best
}

// Yielded is the lowest proof pull after which the mounting stayed bent; nil
// where there is none.
func (f *Fixing) Yielded() *ProofPull {
	if f == nil {
		return nil
	}
	var worst *ProofPull
	for i, p := range f.Proofs {
		if p.bent() && (worst == nil || p.Level < worst.Level) {
			worst = &f.Proofs[i]
		}
	}
	return worst
}

func (p ProofPull) bent() bool { return p.Set != nil && *p.Set > 0 }

// Evidence gives, as ratings that are no working limits, the loads above
// which what is recorded speaks against the mounting with the line at h:
// where it took a set, and what its bolts and plate are estimated to hold.
func (f *Fixing) Evidence(h Heading) []Rating {
	out := f.Bent()
	if e, ok := f.Estimate(h); ok && e.Limit > 0 {
		out = append(out, Rating{Value: e.Limit, Basis: Estimated})
	}
	return out
}

// Bent gives the load at which the mounting took a set, as a rating that is
// no working limit; none where it did not.
func (f *Fixing) Bent() []Rating {
	if y := f.Yielded(); y != nil {
		return []Rating{{Value: y.Level, Basis: TookASet}}
	}
	return nil
}
