package rehearse

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tautlog/analysis/trace"
)

// Pull is one pull of a script.
type Pull struct {
	At     time.Duration // when the line comes taut, from the start of the script
	Name   string        // what it is, for people
	Rig    string        // ID of the rig that is used for it
	Ground string        // what the stuck vehicle stands in
	Shape  Shape
}

// Script gives the nth pull, counted from 0, or false when there are no more.
// Pulls come in order of their times. It must give the same answer every time.
type Script func(n int) (Pull, bool)

// Pulls makes a script of a list.
func Pulls(list ...Pull) Script {
	return func(n int) (Pull, bool) {
		if n >= len(list) {
			return Pull{}, false
		}
		return list[n], true
	}
}

// Sample is one reading with the truth behind it.
type Sample struct {
	N     int64   // its number, from 0; its time is N over the cell's rate
	Force float64 // the true force of the line in newtons at that time
	Raw   int64   // what the cell reads
	Mark  trace.Mark
}

// Generator gives the readings of a cell in a script of pulls, one by one. It
// knows no clock.
type Generator struct {
	cell   Cell
	script Script
	seed   uint64
	noise  *rand.Rand

	n        int64
	lagged   float64
	count    int // pulls taken from the script
	next     Pull
	track    Track
	start    float64 // of the track, in seconds
	more     bool
	announce func(Pull)
	told     bool
}

// NewGenerator makes a generator. The same cell, script and seed give the
// same readings.
func NewGenerator(c Cell, s Script, seed uint64) (*Generator, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	g := &Generator{cell: c, script: s, seed: seed, noise: rand.New(rand.NewPCG(seed, streamNoise))}
	return g, g.take()
}

// Streams of random numbers that must not depend on each other.
const (
	streamNoise  = 1
	streamFaults = 2
	streamPulls  = 1000 // plus the number of the pull
)

// take gets the next pull from the script. One that would begin before the
// last has ended begins when it has.
func (g *Generator) take() error {
	end := g.start + g.track.Length()
	g.next, g.more = g.script(g.count)
	if !g.more {
		return nil
	}
	var err error
	g.track, err = g.next.Shape.Render(rand.New(rand.NewPCG(g.seed, streamPulls+uint64(g.count))))
	if err != nil {
		return fmt.Errorf("pull %d of the script (%s): %w", g.count+1, g.next.Name, err)
	}
	g.start = math.Max(end, g.next.At.Seconds())
	g.count++
	g.told = false
	return nil
}

// Next gives the next reading. It fails only where the script holds a pull
// that cannot be worked out.
func (g *Generator) Next() (Sample, error) {
	t := float64(g.n) / g.cell.Rate
	s := Sample{N: g.n}
	for g.more && t > g.start+g.track.Length() {
		if err := g.take(); err != nil {
			return Sample{}, err
		}
	}
	if g.more {
		s.Force = g.track.Force(t - g.start)
		g.tell(t)
	}
	s.Raw, s.Mark = g.read(s.Force, t)
	g.n++
	return s, nil
}

// notice is how long before a pull it is announced, in seconds.
const notice = 4

func (g *Generator) tell(t float64) {
	if g.announce != nil && !g.told && t >= g.start-notice {
		g.told = true
		g.announce(g.next)
	}
}

// read is what the amplifier makes of a force at time t.
func (g *Generator) read(force, t float64) (int64, trace.Mark) {
	c := g.cell
	if c.Lag > 0 {
		g.lagged += (force - g.lagged) * -math.Expm1(-1/(c.Rate*c.Lag))
	} else {
		g.lagged = force
	}
	v := g.lagged + float64(c.ZeroError) + float64(c.Drift)*t/3600 + float64(c.Noise)*g.noise.NormFloat64()
	if limit := c.ceiling(); math.Abs(v) > limit {
		return c.raw(math.Copysign(limit, v)), trace.Overload
	}
	return c.raw(v), 0
}
