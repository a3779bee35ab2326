package record
import ("testing";"math/rand/v2";"fmt";"sort";"math"
"tautlog/ingest/wire")

func TestExp(t *testing.T) {
	type cfg struct{rate float64; per int; model string; skew float64}
	for _, c := range []cfg{{1000,10,"naive",100e-6},{1000,10,"naive",-100e-6},{1000,10,"flush",100e-6},{1000,50,"iid",100e-6},{1000,50,"iid",-100e-6},{1000,50,"iid",0},{1000,100,"iid",100e-6},{500,1,"flush",-100e-6},{1000,10,"fifo",100e-6},{1000,10,"flush",5000e-6},{1000,50,"iid",5000e-6},{80,1,"iid",100e-6}} {
		var errs []float64
		var runs int
		var at30 []float64
		for seed := range 100 {
			rng := rand.New(rand.NewPCG(uint64(seed), 1))
			clk := newSampleClock(c.rate, 1000, 0)
			base := int64(1e18)
			var last int64
			worst, worst30 := 0.0, 0.0
			var pend []wire.Reading
			var pendT []float64
			flushAt := 0.0
			n := int(60*c.rate)/c.per
			prevArr := 0.0
			maxT := 60.0
			i := 0
			for f := 0; f < n; f++ {
				// frame f
				for k := 0; k < c.per; k++ {
					tr := float64(i)/c.rate // true time s; the device's nominal tick = tr*(1+skew)
					pend = append(pend, wire.Reading{Tick: uint32(int64(tr*1e6*(1+c.skew))+4294967296-5000000), Timed: true})
					pendT = append(pendT, tr)
					i++
				}
				done := pendT[len(pendT)-1]
				if done > maxT { break }
				var arr float64
				switch c.model {
				case "flush":
					if done < flushAt { continue }
					arr = math.Max(flushAt, done); 
					// flush at flushAt: arrival at done (first frame completed after flush moment... delay small)
					arr = done + rng.Float64()*0.0005
					flushAt = done + rng.Float64()*0.04
				case "iid":
					arr = math.Max(done + rng.Float64()*0.04, prevArr)
				case "naive":
					arr = done + rng.Float64()*0.04
				case "fifo":
					arr = math.Max(done + rng.Float64()*0.04, prevArr)
				}
				prevArr = arr
				sts := clk.stamp(nil, pend, 0, base+int64(arr*1e9))
				for j, s := range sts {
					if s.t <= last { t.Fatal("back") }
					last = s.t
					if s.fresh { runs++ }
					e := math.Abs(float64(s.t-base) - pendT[j]*1e9)
					if pendT[j] > 10 { worst = math.Max(worst, e) }
					if pendT[j] > 30 { worst30 = math.Max(worst30, e) }
				}
				pend, pendT = pend[:0], pendT[:0]
			}
			errs = append(errs, worst/1e6)
			at30 = append(at30, worst30/1e6)
		}
		sort.Float64s(errs); sort.Float64s(at30)
		fmt.Printf("%+v: worst>10s p50 %.3f p90 %.3f p99 %.3f max %.3f  >30s: p50 %.3f p99 %.3f max %.3f runs/trace %d\n", c, errs[50], errs[90], errs[98], errs[99], at30[50], at30[98],at30[99], runs/100)
	}
}
