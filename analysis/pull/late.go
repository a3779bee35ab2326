package pull

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// before is the kinetic pull that a later one may be a rebound of.
type before struct {
	seen   bool
	end    int64
	height unit.Force
}

const (
	// lateSeconds is within how many seconds of the line being slack a weaker
	// kinetic pull may be a rebound. Common practice, no source: nobody has
	// backed up, rigged and driven off again by then.
	lateSeconds = 6.0
	// lateShare is the height over that of the pull before from which on it is
	// another attempt, as within one pull (another).
	lateShare = 0.7
)

// follow says of a kinetic pull that it may be a rebound of the one before it,
// where it is weaker and began soon after. A line that was slack for
// mergeSeconds ends a pull, since people wait for the result; what comes later is
// a pull of its own, however it came about, and is not lost.
func (b *before) follow(p *Pull) {
	if p.Kind != Kinetic {
		*b = before{}
		return
	}
	height := p.Peak - p.Standing
	slack := float64(p.Start-b.end) / 1e9
	if b.seen && slack <= lateSeconds && height < lateShare*b.height {
		p.Flags = append(p.Flags, FlagLate)
		p.Remarks = append(p.Remarks, words.Say("measured.late", slack))
		b.end = p.End
		return
	}
	*b = before{true, p.End, height}
}
