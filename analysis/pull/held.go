package pull

// feedHeld lets the collector of a line that was loaded from the first sample
// on see the samples from i up to j.
func (f *Finder) feedHeld(i, j int) {
	if f.held == nil {
		return
	}
	for ; i < j; i++ {
		f.held.add(&f.win, i)
	}
}

// checkHeld hands out a load that stood from the first sample on and has now
// been let go.
func (f *Finder) checkHeld() {
	c := f.held
	if c == nil || f.quiet.level > c.base/2 {
		return
	}
	f.held = nil
	if c.max < heldShare*f.scale() {
		return
	}
	f.pull = tautLine{c: c, begin: f.edge, underWay: true, atGap: f.atGap}
	end := c.line.lastAbove(c.base / 2)
	f.emit(f.measure(&f.pull, c.sum(&f.win, f.at), c.tally, end))
	f.pull = tautLine{since: end}
}
