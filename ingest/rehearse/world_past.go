package rehearse

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tautlog/calc/unit"
)

// PastDay is a test day that the World remembers: what River-1 measured then,
// and what people wrote down.
type PastDay struct {
	Name  string
	Ago   int // days before today
	Pulls []PastPull
}

// Script gives the pulls of the day.
func (d PastDay) Script() Script {
	list := make([]Pull, len(d.Pulls))
	for i, p := range d.Pulls {
		list[i] = p.Pull
	}
	return Pulls(list...)
}

// PastPull is a pull with what somebody said of it.
type PastPull struct {
	Pull
	Speed unit.Speed // as the driver read it: to half a kilometre an hour
	Depth string     // how deep the stuck vehicle sat: "", wheel, fender
}

// pastPause is the time from one remembered pull to the next. It is shorter
// than a crew needs: nobody watches.
const pastPause = 8 * time.Second

// pastDays are six test days. Each has a drift of its own in how hard the
// ground holds, as days do.
func pastDays() []PastDay {
	type made struct {
		rig, ground string
		kmh         float64
	}
	strap := func(ground string, kmh float64) made { return made{rigInLine, ground, kmh} }
	rope := func(ground string, kmh float64) made { return made{rigBridle, ground, kmh} }
	plans := []struct {
		name  string
		ago   int
		pulls []made
	}{
		{"First with the cell", 322, []made{strap(wetSand, 7), strap(wetSand, 9), strap(firmGravel, 6), rope(wetSand, 10), strap(silt, 9), rope(silt, 10)}},
		{"Night exercise", 259, []made{strap(wetSand, 8), strap(silt, 8), strap(silt, 11), rope(wetSand, 9), strap(firmGravel, 8), rope(wetSand, 12)}},
		{"Autumn exercise", 196, []made{strap(wetSand, 6), strap(wetSand, 8), strap(wetSand, 9), rope(wetSand, 8), rope(wetSand, 11), strap(firmGravel, 6)}},
		{"After the flood", 140, []made{strap(silt, 8), strap(silt, 10), strap(silt, 11), strap(wetSand, 7), rope(wetSand, 10), strap(wetSand, 10)}},
		{"Winter training", 68, []made{strap(firmGravel, 5), strap(firmGravel, 7), strap(wetSand, 8), strap(wetSand, 11), rope(wetSand, 9), rope(silt, 12)}},
		{"Recruits’ day", 21, []made{strap(wetSand, 6), strap(silt, 9), strap(silt, 12), rope(wetSand, 12), rope(silt, 14), strap(firmGravel, 8)}},
	}
	days := make([]PastDay, len(plans))
	for i, p := range plans {
		days[i] = PastDay{Name: p.name, Ago: p.ago}
		random := rand.New(rand.NewPCG(uint64(i), 0x9a57da75))
		holds := between(random, 0.88, 1.12)
		for n, m := range p.pulls {
			at := 2*time.Second + time.Duration(n)*pastPause
			days[i].Pulls = append(days[i].Pulls, pastPull(random, at, m.rig, m.ground, m.kmh, holds))
		}
	}
	return days
}

// pastPull is a kinetic pull of Heron as it was on a day on which the ground
// held so many times what it usually does.
func pastPull(random *rand.Rand, at time.Duration, rig, ground string, kmh, holds float64) PastPull {
	line := blueStrap()
	if rig == rigBridle {
		line = greenRope()
	}
	k := jerk(line, ground, kmh*between(random, 0.96, 1.04), unit.Force(6e3*between(random, 0.8, 1.2)), 1)
	k.Pull.Resistance *= unit.Force(holds)
	k.Pull.Moving *= unit.Force(holds)
	depth := map[string]string{silt: "fender", wetSand: "wheel"}[ground]
	return PastPull{
		Pull:  Pull{At: at, Name: fmt.Sprintf("kinetic pull, %s", ground), Rig: rig, Ground: ground, Shape: k},
		Speed: unit.Speed(math.Round(2*kmh) / 2 / 3.6), Depth: depth,
	}
}

// Lasts is how long the readings of the day are.
func (d PastDay) Lasts() time.Duration { return time.Duration(len(d.Pulls))*pastPause + 2*time.Second }

// At is the pull that was made at a time of the day, counted from its first
// reading.
func (d PastDay) At(t time.Duration) (PastPull, bool) {
	for _, p := range d.Pulls {
		if t >= p.At-pastPause/8 && t < p.At+pastPause/2 {
			return p, true
		}
	}
	return PastPull{}, false
}
