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

// PastPull is a pull with what somebody said of it. The cell was switched on
// for each, so that between them there are no readings.
type PastPull struct {
	Pull
	On    time.Duration // after midnight, when the cell was switched on
	Speed unit.Speed    // as the driver read it: to half a kilometre an hour
	Depth string        // how deep the stuck vehicle sat: "", wheel, fender
}

// PastLasts is for how long the cell was on at each pull.
const PastLasts = 10 * time.Second

// Script gives the pull, from when the cell was switched on.
func (p PastPull) Script() Script { return Pulls(p.Pull) }

// pastDays are six test days, each from the easy pulls to the hard ones. Each
// has a drift of its own in how hard the ground holds, as days do.
func pastDays() []PastDay {
	type made struct {
		rig, ground string
		kmh         float64
	}
	strap := func(ground string, kmh float64) made { return made{rigInLine, ground, kmh} }
	rope := func(ground string, kmh float64) made { return made{rigBridle, ground, kmh} }
	const morning, evening = 9*time.Hour + 40*time.Minute, 19*time.Hour + 5*time.Minute
	plans := []struct {
		name   string
		ago    int
		begins time.Duration
		pulls  []made
	}{
		{"First with the cell", 322, morning, []made{strap(firmGravel, 6), strap(wetSand, 7), strap(wetSand, 9), rope(wetSand, 10), strap(silt, 9), rope(silt, 10)}},
		{"Night exercise", 259, evening, []made{strap(firmGravel, 7), strap(wetSand, 8), rope(wetSand, 9), rope(wetSand, 10), strap(silt, 8), strap(silt, 11)}},
		{"Autumn exercise", 196, morning, []made{strap(firmGravel, 6), strap(wetSand, 6), strap(wetSand, 8), strap(wetSand, 9), rope(wetSand, 8), rope(wetSand, 11)}},
		{"After the flood", 140, morning, []made{strap(wetSand, 7), strap(wetSand, 10), rope(wetSand, 10), strap(silt, 8), strap(silt, 10), strap(silt, 11)}},
		{"Winter training", 68, morning, []made{strap(firmGravel, 5), strap(firmGravel, 7), strap(wetSand, 8), strap(wetSand, 11), rope(wetSand, 9), rope(silt, 12)}},
		{"Recruits’ day", 21, morning, []made{strap(firmGravel, 7), strap(wetSand, 6), rope(wetSand, 10), strap(silt, 9), strap(silt, 13), rope(silt, 16)}},
	}
	days := make([]PastDay, len(plans))
	for i, p := range plans {
		days[i] = PastDay{Name: p.name, Ago: p.ago}
		random := rand.New(rand.NewPCG(uint64(i), 0x9a57da75))
		holds := between(random, 0.88, 1.12)
		on := p.begins
		for _, m := range p.pulls {
			said := pastPull(random, m.rig, m.ground, m.kmh, holds)
			said.On = on.Truncate(time.Second)
			days[i].Pulls = append(days[i].Pulls, said)
			on += time.Duration(between(random, 11, 27) * float64(time.Minute)) // to rig anew and look the gear over
		}
	}
	return days
}

// pastPull is a kinetic pull of Heron as it was on a day on which the ground
// held so many times what it usually does.
func pastPull(random *rand.Rand, rig, ground string, kmh, holds float64) PastPull {
	line := blueStrap()
	if rig == rigBridle {
		line = greenRope()
	}
	k := jerk(line, ground, kmh*between(random, 0.96, 1.04), push(ground)*unit.Force(between(random, 0.8, 1.2)), 1)
	k.Pull.Resistance *= unit.Force(holds)
	k.Pull.Moving *= unit.Force(holds)
	depth := map[string]string{silt: "fender", wetSand: "wheel"}[ground]
	return PastPull{
		Pull:  Pull{At: 2 * time.Second, Name: fmt.Sprintf("kinetic pull, %s", ground), Rig: rig, Ground: ground, Shape: k},
		Speed: unit.Speed(math.Round(2*kmh) / 2 / 3.6), Depth: depth,
	}
}
