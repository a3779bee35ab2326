package trace

// Summary says what a trace consists of.
type Summary struct {
	Samples  int     `json:"samples"`
	Duration float64 `json:"duration_s"` // from the first reading to the last
	Rate     float64 `json:"rate_hz"`    // readings a second outside of gaps; 0 unknown
	Gaps     int     `json:"gaps"`
}

// Meter sums a trace up as it passes, in constant memory.
type Meter struct {
	pace    *Pace
	warm    []int64 // the first intervals, not yet judged
	samples int
	first   int64
	last    int64
	gaps    int
	even    int // intervals that are no gap
	span    int64
}

const meterWarm = 256

// NewMeter makes a Meter; nominalRate as for NewPace.
func NewMeter(nominalRate float64) *Meter {
	return &Meter{pace: NewPace(nominalRate), warm: make([]int64, 0, meterWarm)}
}

// Push counts the next samples.
func (m *Meter) Push(b Batch) {
	for i, t := range b.T {
		if m.samples == 0 {
			m.first, m.last, m.samples = t, t, 1
			continue
		}
		m.step(t-m.last, b.Marks != nil && b.Marks[i]&Lost != 0)
		m.last = t
		m.samples++
	}
}

func (m *Meter) step(d int64, lost bool) {
	switch {
	case len(m.warm) < cap(m.warm):
		m.pace.Add(d)
		if lost {
			d = -d
		}
		if m.warm = append(m.warm, d); len(m.warm) == cap(m.warm) {
			m.pace.Learn()
			m.gaps, m.even, m.span = m.judgeWarm()
		}
	case lost || d > m.pace.Limit():
		m.gaps++
		m.pace.Add(d)
	default:
		m.even++
		m.span += d
		m.pace.Add(d)
	}
}

// judgeWarm judges the first intervals by what has been learnt by now. An
// interval that the instrument marked is held as its negative.
func (m *Meter) judgeWarm() (gaps, even int, span int64) {
	for _, d := range m.warm {
		if d < 0 || d > m.pace.Limit() {
			gaps++
			continue
		}
		even++
		span += d
	}
	return gaps, even, span
}

// Summary says what has passed so far.
func (m *Meter) Summary() Summary {
	gaps, even, span := m.gaps, m.even, m.span
	if len(m.warm) < cap(m.warm) {
		m.pace.Learn()
		gaps, even, span = m.judgeWarm()
	}
	s := Summary{Samples: m.samples, Duration: float64(m.last-m.first) / 1e9, Gaps: gaps}
	if span > 0 {
		s.Rate = float64(even) / (float64(span) / 1e9)
	}
	return s
}
