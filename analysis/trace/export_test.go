package trace

// Open is the number of reversals that are held.
func (r *Rainflow) Open() int { return len(r.open) }
