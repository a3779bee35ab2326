package pull

import (
	"math"
)

// summit is what the readings around the largest one say of the true top.
type summit struct {
	value  float64 // best estimate, with the zero taken off
	sd     float64 // its standard deviation, noise and misfit
	half   int     // readings on either side that went into it
	at     int     // index in the trace of the middle of the window
	hidden float64 // by how much the top may be higher where it lies at the edge of the window
	when   int64   // and its time
}

// Sizes of window that are tried, in readings on either side, from the
// largest down: about three to an octave.
var summitHalves = [...]int{1024, 813, 645, 512, 406, 323, 256, 203, 161, 128, 102, 81, 64, 51, 40, 32, 25, 20, 16, 13, 10, 8, 6, 5, 4, 3, 2}

// misfitLimit is how large, in squared standard deviations, the cubic and the
// quartic part of the readings in a window may be together for a parabola to
// serve: the median of chi-squared with two degrees of freedom is 1.39.
const misfitLimit = 4

// misfitShare is the part of what a cubic and a quartic would change at the top
// that counts as a standard deviation; from the simulated pulls of the tests.
const misfitShare = 0.65

// chosenWindow is what the choice of a window in which a parabola fits adds to
// its noise; from the same.
const chosenWindow = 1.05

// findSummit estimates the top of the force around index c of the capture
// from readings with noise sigma: a parabola by least squares in a window
// (local polynomial smoothing: Fan and Gijbels, Local Polynomial Modelling and
// Its Applications, 1996, chapter 3, from memory). The largest of many noisy readings lies
// above the true force; the parabola does not.
//
// The window is one size smaller than the largest in which a parabola fits. In
// the largest the error of the parabola has only just not become visible in
// the noise, and pulled the tops of the simulated pulls down by a third of a
// standard deviation; one size down a tenth is left, for a noise that is a tenth
// larger (undersmoothing: Hall, Annals of Statistics 20, 1992, 675-694,
// from memory).
//
// It is false where no window serves, as when there is no noise.
func findSummit(c capture, index int, sigma, zero float64) (summit, bool) {
	if !(sigma > 0) || index < 0 || index >= len(c.f) {
		return summit{}, false
	}
	var room fitRoom
	for k, half := range summitHalves {
		if 2*half+1 > 2*len(c.f) {
			continue
		}
		if s, ok := room.tryWindow(c, index, half, sigma); ok {
			if k+1 < len(summitHalves) {
				if narrower, ok := room.tryWindow(c, index, summitHalves[k+1], sigma); ok {
					s = narrower
				}
			}
			s.value -= zero
			return s, true
		}
	}
	return summit{}, false
}

// tryWindow fits a window around index, moved once or twice towards where its
// own top is, but not so far that it leaves the readings around index.
func (room *fitRoom) tryWindow(c capture, index, half int, sigma float64) (summit, bool) {
	at := index
	for try := 0; ; try++ {
		from, to := max(0, at-half), min(len(c.f), at+half+1)
		if to-from < 5 || to-from < half+2 {
			return summit{}, false
		}
		stride := max(1, (to-from)/fitPoints)
		fit := room.fitParabola(room.thin(c.t[from:to], c.f[from:to], stride))
		next := from + int(math.Round((fit.top()+1)/2*float64(to-from-1)))
		next = max(index-half/2, min(index+half/2, next, len(c.f)-1), 0)
		if next == at || try == 2 {
			s, ok := room.summit(&fit, half, stride, sigma/math.Sqrt(float64(stride)))
			s.at = c.at - c.before + at
			s.when = c.t[at]
			return s, ok
		}
		at = next
	}
}

// fitPoints is about how many points a fit takes; readings that are more are
// averaged in groups first, which costs a parabola next to nothing.
const fitPoints = 96

// thin averages readings in groups of stride; a last group that is not full
// is left out.
func (room *fitRoom) thin(t []int64, f []float64, stride int) ([]int64, []float64) {
	if stride <= 1 {
		return t, f
	}
	room.t, room.f = room.t[:0], room.f[:0]
	for i := 0; i+stride <= len(f); i += stride {
		var sum float64
		var at int64
		for k := i; k < i+stride; k++ {
			sum += f[k]
			at += t[k] - t[i]
		}
		room.t = append(room.t, t[i]+at/int64(stride))
		room.f = append(room.f, sum/float64(stride))
	}
	return room.t, room.f
}

// parabola is a fit over a window whose times are mapped to -1…1, in
// polynomials that are orthonormal over the window's readings.
type parabola struct {
	n     int
	basis [5]recurrence
	coef  [5]float64
	rest  float64 // sum of squared residuals of the parabola
	level float64
}

// recurrence builds one orthogonal polynomial from the two before it
// (Forsythe, Journal of the SIAM 5, 1957, from memory): p = (x-a)·p1 - b·p2, over norm.
type recurrence struct{ a, b, norm float64 }

// fitRoom is working space for fits.
type fitRoom struct {
	x, prev, cur, rest []float64  // of the fit at hand: prev and cur are the latest two polynomials
	next               recurrence // what the one that follows is made with
	t                  []int64
	f                  []float64
}

// columns makes working space for n readings; prev is all zero.
func (room *fitRoom) columns(n int) {
	if cap(room.x) < n {
		room.x, room.prev, room.cur, room.rest = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	}
	room.x, room.prev, room.cur, room.rest = room.x[:n], room.prev[:n], room.cur[:n], room.rest[:n]
	clear(room.prev)
}

// fitParabola fits degrees 0 to 2. Those that show whether a parabola serves
// are fitted by degree where that is to be known.
func (room *fitRoom) fitParabola(t []int64, f []float64) parabola {
	n := len(f)
	p := parabola{n: n, level: f[n/2]}
	room.columns(n)
	span := float64(t[n-1]-t[0]) / 2
	one := 1 / math.Sqrt(float64(n))
	for i := range room.x {
		room.x[i] = float64(t[i]-t[0])/span - 1
		room.cur[i] = one
		room.rest[i] = f[i] - p.level
	}
	p.basis[0] = recurrence{norm: math.Sqrt(float64(n))}
	for k := range 3 {
		room.degree(&p, k)
	}
	for _, r := range room.rest {
		p.rest += r * r
	}
	return p
}

// degree adds degree k, the next one, to the fit at hand.
func (room *fitRoom) degree(p *parabola, k int) {
	if k > 0 {
		p.basis[k] = room.next.follow(room.x, room.prev, room.cur)
		room.prev, room.cur = room.cur, room.prev
	}
	p.coef[k], room.next = project(room.x, room.prev, room.cur, room.rest)
	for i, c := range room.cur {
		room.rest[i] -= p.coef[k] * c
	}
}

// project gives the part of cur in rest, and what the polynomial that follows
// cur is made with. All sums in one loop do not wait for each other.
func project(x, prev, cur, rest []float64) (coef float64, next recurrence) {
	prev, cur, rest = prev[:len(x)], cur[:len(x)], rest[:len(x)]
	for i, v := range x {
		c := cur[i]
		coef += rest[i] * c
		next.a += v * c * c
		next.b += v * c * prev[i]
	}
	return coef, next
}

// follow replaces prev by the polynomial that follows cur, and gives the
// recurrence with its norm.
func (r recurrence) follow(x, prev, cur []float64) recurrence {
	prev, cur = prev[:len(x)], cur[:len(x)]
	for i, v := range x {
		w := (v-r.a)*cur[i] - r.b*prev[i]
		prev[i] = w
		r.norm += w * w
	}
	r.norm = math.Sqrt(r.norm)
	if r.norm > 0 {
		for i := range prev {
			prev[i] /= r.norm
		}
	}
	return r
}

// at gives the values of the orthonormal polynomials at x.
func (p *parabola) at(x float64) [5]float64 {
	var v [5]float64
	v[0] = 1 / p.basis[0].norm
	for k := 1; k < 5; k++ {
		b := p.basis[k]
		v[k] = (x - b.a) * v[k-1]
		if k > 1 {
			v[k] -= b.b * v[k-2]
		}
		if b.norm > 0 {
			v[k] /= b.norm
		}
	}
	return v
}

// value is the parabola at x.
func (p *parabola) value(x float64) float64 {
	v := p.at(x)
	return p.level + p.coef[0]*v[0] + p.coef[1]*v[1] + p.coef[2]*v[2]
}

// top is where the parabola is largest within the window.
func (p *parabola) top() float64 {
	a, b, c := p.value(-1), p.value(0), p.value(1)
	if curve := a - 2*b + c; curve < 0 {
		return max(-1, min(1, (a-c)/2/curve))
	}
	if a > c {
		return -1
	}
	return 1
}

// summit is the top of the parabola at hand where it serves, through points
// with noise sigma that stand for stride readings each. Most that do not are told
// by what they leave, without the two degrees more.
func (room *fitRoom) summit(p *parabola, half, stride int, sigma float64) (summit, bool) {
	variance := sigma * sigma
	if free := float64(p.n - 3); p.rest > variance*free*(1+3*math.Sqrt(2/free)) {
		return summit{}, false
	}
	room.degree(p, 3)
	room.degree(p, 4)
	if p.coef[3]*p.coef[3]+p.coef[4]*p.coef[4] > misfitLimit*variance {
		return summit{}, false
	}
	x := p.top()
	v := p.at(x)
	noise := chosenWindow * chosenWindow * variance * (v[0]*v[0] + v[1]*v[1] + v[2]*v[2])
	misfit := misfitShare * (p.coef[3]*v[3] + p.coef[4]*v[4])
	hidden := 0.0
	if step := 2 / float64(stride*(p.n-1)); math.Abs(x) > 1-step {
		hidden = math.Abs(p.value(x) - p.value(x*(1-step))) // the top may lie just outside the window
	}
	return summit{value: p.value(x), sd: math.Sqrt(noise + misfit*misfit), half: half, hidden: hidden}, true
}
