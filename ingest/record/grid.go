package record

// grid lays readings on even grids: runs of times that are start + i·step
// with a whole number of nanoseconds for a step, so that a run can be cut
// anywhere and its times stay the same to the nanosecond. Times only rise.
//
// Each reading comes with an estimate of its time. As long as the grid agrees
// with the estimates within a tolerance it goes on; otherwise a new run
// begins where the old one would have gone on, with a step that leads back to
// the estimates smoothly. Only a gap makes times jump, and only forwards.
type grid struct {
	tolerance int64 // ns that the grid may be off before it is laid anew
	exact     bool  // then it is laid at the estimate at once, since each is as good as the last

	start, step, n int64 // of the run going on; n readings are in it
	last           int64 // time of the latest reading
	off            int64 // offset that the run works off
	begun          bool
}

const (
	slewTime   = 1.5e9       // ns in which an offset is worked off, about
	slewMost   = 0.02        // fraction by which time may be stretched for it
	slewCoarse = 0.25        // the same where the offset is beyond coarse
	coarse     = int64(1e8)  // ns
	slewReview = int64(25e7) // ns after which a slewing run is laid anew
)

// place gives the time of the next reading. The estimate of its time is at,
// and period is the time from one reading to the next by the host's clock.
// Jump means that it does not follow the one before at that distance, but
// comes at least ahead ns after it.
func (g *grid) place(at int64, period float64, jump bool, ahead int64) (t int64, fresh bool) {
	next := g.start + g.n*g.step
	off := at - next
	switch {
	case !g.begun:
		g.lay(max(at, g.last+1), period, 0)
	case jump:
		g.lay(max(at, g.last+max(1, ahead)), period, 0)
	case off > max(coarse, 2*g.step), g.exact && max(off, -off) > g.tolerance && at > g.last:
		g.lay(at, period, 0)
	case g.strayed(off):
		g.lay(next, period, off)
	default:
		g.n++
		g.last = next
		return next, false
	}
	return g.last, true
}

// lay begins a run at start that works off an offset.
func (g *grid) lay(start int64, period float64, off int64) {
	most := slewMost
	if off > coarse || off < -coarse {
		most = slewCoarse
	}
	stretch := min(max(float64(off)/slewTime, -most), most)
	if max(off, -off) <= g.tolerance/2 {
		off = 0
	}
	g.start, g.n, g.last = start, 1, start
	g.step = max(1, int64(period*(1+stretch)+0.5))
	g.off, g.begun = off, true
}

// strayed says that the run no longer leads where it should.
func (g *grid) strayed(off int64) bool {
	if g.off != 0 && g.n*g.step >= slewReview {
		return true
	}
	return max(off, -off) > max(g.off, -g.off)+g.tolerance
}
