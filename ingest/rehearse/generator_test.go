package rehearse_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/wire"
)

// quietCell has neither noise nor drift.
func quietCell() rehearse.Cell {
	return rehearse.Cell{
		Name: "test cell", Capacity: 100e3, Rate: 1000, PerFrame: 10,
		Curve: calibrate.Curve{Coefficients: []float64{-2000, 4}}, Wire: wire.Config{Format: wire.Packed},
	}
}

func fixedPull(speed unit.Speed) rehearse.Kinetic {
	return rehearse.Kinetic{Seconds: 2, Pull: kinetic.Pull{
		Puller: 2500, Speed: speed, Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(40e3), Loss: 0.2},
	}}
}

func samples(t testing.TB, c rehearse.Cell, s rehearse.Script, seed uint64, n int) []rehearse.Sample {
	g, err := rehearse.NewGenerator(c, s, seed)
	require.NoError(t, err)
	out := make([]rehearse.Sample, n)
	for i := range out {
		out[i], err = g.Next()
		require.NoError(t, err)
	}
	return out
}

// v·√(km) reaches the reading, quantised to counts of 4 N.
func TestReadingsShowThePeakOfThePhysics(t *testing.T) {
	t.Parallel()
	c := quietCell()
	script := rehearse.Pulls(rehearse.Pull{At: 1500 * time.Millisecond, Shape: fixedPull(3)})
	largest, at := unit.Force(0), int64(0)
	for _, s := range samples(t, c, script, 1, 4000) {
		if f := c.Curve.Force(float64(s.Raw)); f > largest {
			largest, at = f, s.N
		}
	}
	assert.InDelta(t, 3*math.Sqrt(40e3*2500), float64(largest), 2+0.01)
	assert.InDelta(t, 1500+1000*math.Pi/2*math.Sqrt(2500/40e3), float64(at), 12, "flat top: a few samples are equal")
}

// A script that waits plays the pulls as they are, from the moment on at which it
// may begin, and nothing before.
func TestPullsWaitUntilTheyMayBegin(t *testing.T) {
	t.Parallel()
	c, asked := quietCell(), 0
	at := func(ms int) rehearse.Script {
		return rehearse.Pulls(rehearse.Pull{At: time.Duration(ms) * time.Millisecond, Shape: fixedPull(3)}, rehearse.Pull{At: time.Duration(ms+3000) * time.Millisecond, Shape: fixedPull(2)})
	}
	waits := rehearse.After(func() bool { asked++; return asked > 5 }, at(300))
	want, got := samples(t, c, at(1300), 1, 9000), samples(t, c, waits, 1, 9000)
	for i := range want {
		require.InDelta(t, want[i].Force, got[i].Force, 1.01, "reading %d", i)
	}
	assert.Equal(t, 6, asked, "it is not asked again")
}

func TestNoiseAndDriftAreAsAsked(t *testing.T) {
	t.Parallel()
	c := quietCell()
	c.Noise, c.Drift, c.ZeroError = 40, 3600*100, 500
	var head, tail []float64
	for _, s := range samples(t, c, rehearse.Pulls(), 7, 20000) {
		f := float64(c.Curve.Force(float64(s.Raw))) - 500 - 100*float64(s.N)/1000
		if s.N < 10000 {
			head = append(head, f)
		} else {
			tail = append(tail, f)
		}
	}
	for _, part := range [][]float64{head, tail} {
		mean, sd := stat.MeanStdDev(part, nil)
		assert.InDelta(t, 0, mean, 5*40/math.Sqrt(10000), "drift")
		assert.InEpsilon(t, math.Sqrt(40*40+16.0/12), sd, 5/math.Sqrt(2*10000.0), "noise and quantisation")
	}
}

// A first-order lag reaches 1 − 1/e of a step after its time constant.
func TestLagIsFirstOrder(t *testing.T) {
	t.Parallel()
	c := quietCell()
	c.Lag = 0.05
	step := rehearse.Proof{Level: 40e3, Ramp: 1e-9, Hold: 10, Release: 1}
	all := samples(t, c, rehearse.Pulls(rehearse.Pull{At: time.Second, Shape: step}), 1, 2000)
	at := float64(c.Curve.Force(float64(all[1050].Raw)))
	assert.InDelta(t, 40e3*(1-math.Exp(-1)), at, 40e3*math.Exp(-1)*0.02+4, "one sample is 2 %% of the time constant")
}

func TestReadingsStopAtTheCeiling(t *testing.T) {
	t.Parallel()
	c := quietCell()
	c.Ceiling = 25e3
	marked := 0
	for _, s := range samples(t, c, rehearse.Pulls(rehearse.Pull{At: time.Second, Shape: fixedPull(3)}), 1, 3000) {
		require.LessOrEqual(t, float64(c.Curve.Force(float64(s.Raw))), 25e3+2)
		if s.Mark&trace.Overload != 0 {
			marked++
			assert.Greater(t, s.Force, 25e3)
		}
	}
	assert.Positive(t, marked)
}

func TestSameSeedSameReadings(t *testing.T) {
	t.Parallel()
	for _, b := range rehearse.NewWorld().Benches {
		n := int(b.Cell.Rate * 70)
		first := samples(t, b.Cell, b.Script, 42, n)
		assert.Equal(t, first, samples(t, b.Cell, b.Script, 42, n))
		assert.NotEqual(t, first, samples(t, b.Cell, b.Script, 43, n))
	}
}

// A pull that is due before the last has ended follows it; none is lost.
func TestPullsNeverOverlap(t *testing.T) {
	t.Parallel()
	hold := rehearse.Proof{Level: 10e3, Ramp: 0.5, Hold: 1, Release: 0.5}
	all := samples(t, quietCell(), rehearse.Pulls(
		rehearse.Pull{At: time.Second, Shape: hold}, rehearse.Pull{At: 1200 * time.Millisecond, Shape: hold},
	), 1, 6000)
	tautSeconds := 0.0
	for _, s := range all {
		if s.Force > 0 {
			tautSeconds += 0.001
		}
		require.Less(t, s.Force, 10e3+1)
	}
	assert.InDelta(t, 4, tautSeconds, 0.01)
	assert.InDelta(t, 10e3, all[1000+2000+1000].Force, 1, "the second one holds")
}

func TestRefusesImpossibleCellsAndPulls(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*rehearse.Cell){
		"straight line":       func(c *rehearse.Cell) { c.Curve.Coefficients = []float64{0, 1, 0.1} },
		"readings a second":   func(c *rehearse.Cell) { c.Rate = 0 },
		"whole number of mic": func(c *rehearse.Cell) { c.Rate = 333 },
		"300 readings":        func(c *rehearse.Cell) { c.PerFrame = 300 },
		"capacity":            func(c *rehearse.Cell) { c.Capacity = 0 },
		"format":              func(c *rehearse.Cell) { c.Wire.Format = "smoke" },
	} {
		c := quietCell()
		spoil(&c)
		_, err := rehearse.NewGenerator(c, rehearse.Pulls(), 1)
		require.ErrorIs(t, err, rehearse.ErrCell, name)
		require.ErrorContains(t, err, name)
	}
	_, err := rehearse.NewGenerator(quietCell(), rehearse.Pulls(rehearse.Pull{Name: "odd one", Shape: rehearse.Kinetic{}}), 1)
	require.ErrorIs(t, err, kinetic.ErrPull)
	require.ErrorContains(t, err, "odd one")
}
