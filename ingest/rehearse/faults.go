package rehearse

import (
	"math/rand/v2"
	"time"
)

// Faults are what goes wrong on the way from the cell to the computer.
type Faults struct {
	Damage   float64 // share of bytes in which a bit is flipped
	Drop     float64 // share of bytes that are lost
	Outages  []Outage
	Restarts []time.Duration // when the amplifier loses power for a moment, from the start
}

// Outage is a time during which the plug is out, from the start. An amplifier
// that is fed through the plug starts again afterwards.
type Outage struct {
	At, For    time.Duration
	KeepsPower bool // it has its own supply, and goes on counting
}

// spoiler damages bytes by a rate.
type spoiler struct {
	faults Faults
	random *rand.Rand
}

func newSpoiler(f Faults, seed uint64) *spoiler {
	return &spoiler{f, rand.New(rand.NewPCG(seed, streamFaults))}
}

// spoil damages p in place and gives what is left of it.
func (s *spoiler) spoil(p []byte) (left []byte, damaged, dropped int) {
	if s.faults.Damage <= 0 && s.faults.Drop <= 0 {
		return p, 0, 0
	}
	left = p[:0]
	for _, b := range p {
		if s.random.Float64() < s.faults.Drop {
			dropped++
			continue
		}
		if s.random.Float64() < s.faults.Damage {
			b ^= 1 << s.random.IntN(8)
			damaged++
		}
		left = append(left, b)
	}
	return left, damaged, dropped
}
