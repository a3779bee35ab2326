package pull_test

import (
	"math"
	"math/rand/v2"
	"sort"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
)

// The traces of these tests are made here from formulas, and share nothing
// with the simulated cell that the program brings along.
//
//   - kinetic: two masses and a line that only pulls, x the stretch, F = k·x
//     (or stiffening, F = k·x·(1+c·x)), loss in the line, resistance R that
//     holds the stuck mass until F exceeds it, drive T of the puller. Newton's
//     second law, stepped by the classical Runge-Kutta rule at 20 kHz.
//   - steady: a ramp to a working load that stands, swings, or sticks and slips.
//   - proof: a smooth ramp, a hold that relaxes, a release.

// truth is a force as a function of time, and what the finder should say.
type truth struct {
	kind pull.Kind
	dt   float64   // s between the values of f
	f    []float64 // N
	peak float64
}

func newTruth(kind pull.Kind, dt float64, f []float64) truth {
	tr := truth{kind: kind, dt: dt, f: f}
	for _, v := range f {
		tr.peak = math.Max(tr.peak, v)
	}
	return tr
}

// at is the force at time s, by straight lines.
func (tr truth) at(s float64) float64 {
	x := s / tr.dt
	i := int(math.Floor(x))
	if i < 0 || i+1 >= len(tr.f) {
		return 0
	}
	return tr.f[i] + (x-float64(i))*(tr.f[i+1]-tr.f[i])
}

func (tr truth) seconds() float64 { return float64(len(tr.f)-1) * tr.dt }

const fine = 1.0 / 20000

func kinetic(r *rand.Rand) truth {
	m1, m2 := uniform(r, 1800, 4500), uniform(r, 1800, 6000)
	k, v := uniform(r, 20e3, 150e3), uniform(r, 1, 4)
	stiffen, loss := uniform(r, 0, 0.6), uniform(r, 0.02, 0.12)
	hold, drive := m2*9.80665*uniform(r, 0.2, 0.8), m1*9.80665*uniform(r, 0, 0.15)
	c := 2 * loss * math.Sqrt(k*m1*m2/(m1+m2))
	force := func(x, rate float64) float64 {
		if x <= 0 {
			return 0
		}
		return math.Max(0, k*x*(1+stiffen*x)+c*rate)
	}
	// State: stretch, speed of the puller, speed of the stuck mass.
	derive := func(s [3]float64) [3]float64 {
		f := force(s[0], s[1]-s[2])
		a2 := (f - hold) / m2
		if s[2] <= 0 && f < hold {
			a2 = 0
		}
		pulling := drive
		if s[1] <= 0 {
			pulling = 0
		}
		return [3]float64{s[1] - s[2], (pulling - f) / m1, a2}
	}
	s := [3]float64{0, v, 0}
	var f []float64
	for n := 0; n < int(6/fine); n++ {
		f = append(f, force(s[0], s[1]-s[2]))
		s = rungeKutta(s, fine, derive)
		s[2] = math.Max(0, s[2])
		// The driver lifts off after the first second, and the truck rolls out.
		if float64(n)*fine > 1 {
			drive *= 1 - 5*fine
			s[1] *= 1 - 0.8*fine
		}
	}
	return newTruth(pull.Kinetic, fine, eased(f))
}

// eased lets whatever tension is left at the end fade.
func eased(f []float64) []float64 {
	n := int(1 / fine)
	for i := range n {
		f[len(f)-1-i] *= float64(i) / float64(n)
	}
	return f
}

func rungeKutta(s [3]float64, h float64, d func([3]float64) [3]float64) [3]float64 {
	add := func(a, b [3]float64, k float64) [3]float64 {
		for i := range a {
			a[i] += k * b[i]
		}
		return a
	}
	k1 := d(s)
	k2 := d(add(s, k1, h/2))
	k3 := d(add(s, k2, h/2))
	k4 := d(add(s, k3, h))
	for i := range s {
		s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	return s
}

func steady(r *rand.Rand) truth {
	level, ramp, work, fall := uniform(r, 4e3, 60e3), uniform(r, 0.8, 5), uniform(r, 5, 25), uniform(r, 0.2, 1.5)
	style, period, depth := r.IntN(3), uniform(r, 0.5, 4), uniform(r, 0.03, 0.3)
	slow, phase := uniform(r, 0.02, 0.06), uniform(r, 0, 6)
	dt := 1.0 / 2000
	var f []float64
	for s := 0.0; s < ramp+work+fall; s += dt {
		v := level
		switch {
		case s < ramp:
			v *= s / ramp
		case s > ramp+work:
			v *= 1 - (s-ramp-work)/fall
		}
		w := s - ramp
		if w < 0 || w > work {
			f = append(f, v)
			continue
		}
		fade := math.Min(1, math.Min(w, work-w)/0.3)
		switch style {
		case 0: // stands, with the slow unrest of a vehicle that moves
			v *= 1 + fade*slow*(math.Sin(2*math.Pi*w/(3*period)+phase)+0.4*math.Sin(2*math.Pi*w/(0.7*period)))
		case 1: // swings
			v *= 1 + fade*depth/2*math.Sin(2*math.Pi*w/period+phase)
		case 2: // sticks and slips: slow rise, quick fall
			x := math.Mod(w/period, 1)
			if x < 0.85 {
				v *= 1 - fade*depth*(1-x/0.85)
			} else {
				v *= 1 - fade*depth*(x-0.85)/0.15
			}
		}
		f = append(f, v)
	}
	return newTruth(pull.Steady, dt, f)
}

func proof(r *rand.Rand) truth {
	level, ramp, held, fall := uniform(r, 8e3, 80e3), uniform(r, 3, 15), uniform(r, 5, 30), uniform(r, 0.3, 3)
	relax, tau := uniform(r, 0.01, 0.06), uniform(r, 0.15, 0.6)*held
	dt := 1.0 / 2000
	var f []float64
	for s := 0.0; s < ramp+held+fall; s += dt {
		var v float64
		switch w := s - ramp; {
		case w < 0:
			v = level * (0.5 - 0.5*math.Cos(math.Pi*s/ramp))
			if relax > 0.035 { // half of them by hand pump: straight
				v = level * s / ramp
			}
		case w <= held:
			v = level * (1 - relax*(1-math.Exp(-w/tau)))
		default:
			v = level * (1 - relax*(1-math.Exp(-held/tau))) * (1 - (w-held)/fall)
		}
		f = append(f, v)
	}
	return newTruth(pull.Proof, dt, f)
}

func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// line is what an instrument makes of pulls on a line.
type line struct {
	rate  float64
	noise float64 // N
	zero  float64 // N
	drift float64 // N/s, at the begin
	fades float64 // s, time constant with which the drift comes to an end; 0: it goes on
	step  float64 // N, rounding; 0 none
}

// placed is a pull at a time, as an instrument with an error of its gain reads it.
type placed struct {
	truth
	start float64
	gain  float64 // 0: that of the truth
}

func (p placed) read(s float64) float64 {
	if p.gain == 0 {
		return p.at(s)
	}
	return p.gain * p.at(s)
}

// zeroAt is what the instrument shows of no load: a zero that drifts, as one
// that follows a temperature does.
func (l line) zeroAt(s float64) float64 {
	if l.fades == 0 {
		return l.zero + l.drift*s
	}
	return l.zero + l.drift*l.fades*(1-math.Exp(-s/l.fades))
}

// read samples pulls one behind another with quiet between.
func (l line) read(r *rand.Rand, pulls []placed, seconds float64) trace.Batch {
	n := int(seconds * l.rate)
	b := trace.Batch{T: make([]int64, n), F: make([]float64, n)}
	phase := r.Float64() / l.rate
	sort.Slice(pulls, func(i, j int) bool { return pulls[i].start < pulls[j].start })
	for i := range n {
		s := float64(i)/l.rate + phase
		b.T[i] = int64(math.Round(float64(i) * 1e9 / l.rate))
		v := l.zeroAt(s) + l.noise*r.NormFloat64()
		for _, p := range pulls {
			if s >= p.start && s <= p.start+p.seconds() {
				v += p.read(s - p.start)
			}
		}
		if l.step > 0 {
			v = math.Round(v/l.step) * l.step
		}
		b.F[i] = v
	}
	return b
}

// find runs a whole trace through a Finder, a chunk at a time.
func find(cfg pull.Config, b trace.Batch, chunk int) []pull.Pull {
	f := pull.NewFinder(cfg)
	var out []pull.Pull
	for i := 0; i < b.Len(); i += chunk {
		j := min(i+chunk, b.Len())
		part := trace.Batch{T: b.T[i:j], F: b.F[i:j]}
		if b.Marks != nil {
			part.Marks = b.Marks[i:j]
		}
		out = append(out, f.Push(part)...)
	}
	return append(out, f.Close()...)
}
