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
	i := 0
	for ; i < b.Len() && len(m.warm) < cap(m.warm); i++ {
		m.warmUp(b.T[i], b.Marks != nil && b.Marks[i]&Lost != 0)
	}
	if i == b.Len() {
		return
	}
	t := b.T[i:]
	m.even += len(t)
	m.span += t[len(t)-1] - m.last
	leave := func(k int) {
		m.gaps++
		m.even--
		before := m.last
		if k > 0 {
			before = t[k-1]
		}
		m.span -= t[k] - before
	}
	if b.Marks == nil {
		m.pace.Times(m.last, t, leave)
	} else {
		m.marked(t, b.Marks[i:], leave)
	}
	m.samples += len(t)
	m.last = t[len(t)-1]
}

// marked counts samples of which the instrument may know that some are
// missing before them.
func (m *Meter) marked(t []int64, marks []Mark, leave func(int)) {
	gapAt := -1
	m.pace.Times(m.last, t, func(k int) {
		for gapAt++; gapAt < k; gapAt++ {
			if marks[gapAt]&Lost != 0 {
				leave(gapAt)
			}
		}
		leave(k)
	})
	for gapAt++; gapAt < len(t); gapAt++ {
		if marks[gapAt]&Lost != 0 {
			leave(gapAt)
		}
	}
}

// warmUp takes one of the first samples.
func (m *Meter) warmUp(t int64, lost bool) {
	m.samples++
	if m.samples == 1 {
		m.first, m.last = t, t
		return
	}
	d := t - m.last
	m.last = t
	m.pace.Add(d)
	if lost {
		d = -d
	}
	if m.warm = append(m.warm, d); len(m.warm) == cap(m.warm) {
		m.pace.Learn()
		m.gaps, m.even, m.span = m.judgeWarm()
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
