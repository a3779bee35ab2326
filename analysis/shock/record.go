package shock

import (
	"math"

	"tautlog/analysis/pull"
	"tautlog/calc/words"
)

// SetRecord is a set in the form that leaves the program as JSON.
type SetRecord struct {
	Classes  []ClassRecord   `json:"classes"`
	LeftOut  []LeftOutRecord `json:"left_out"`
	Outliers []OutlierRecord `json:"outliers"`
	Flagged  []FlaggedRecord `json:"flagged"`
	Of       string          `json:"multiplier_of"`
	Speed    *SpeedRecord    `json:"speed,omitempty"` // where speeds are known
}

// ClassRecord is the multiplier of one class as JSON; null where there are too
// few pulls for a bound.
type ClassRecord struct {
	ClassName
	Pulls           int          `json:"pulls"`
	Days            int          `json:"days"`
	Median          float64      `json:"median"`
	Upper           *float64     `json:"upper_95_95"`
	Pooled          bool         `json:"pooled"`
	Intervals       int          `json:"pulls_as_intervals"`
	WithoutOutliers *BoundRecord `json:"without_outliers,omitempty"`
	WithoutFlagged  *BoundRecord `json:"without_flagged,omitempty"`
	Note            string       `json:"note,omitempty"`
}

// ClassName is a class as JSON.
type ClassName struct {
	Kind   pull.Kind `json:"kind"`
	Ground string    `json:"ground"`
	Strap  string    `json:"strap"`
}

// Name is the class in the form that leaves the program.
func (c Class) Name() ClassName { return ClassName(c) }

// BoundRecord is what becomes of a class when some pulls are not used; median
// and bound are null where none is left.
type BoundRecord struct {
	Pulls  int      `json:"pulls"`
	Median *float64 `json:"median"`
	Upper  *float64 `json:"upper_95_95"`
}

// LeftOutRecord is a pull that was not used.
type LeftOutRecord struct {
	ID     string `json:"id,omitempty"`
	Line   int    `json:"line"`
	Reason string `json:"reason"`
	Day    string `json:"day"`
	ClassName
}

// Name is what people call the pull.
func (l LeftOutRecord) Name() string { return named(l.ID, l.Line) }

// OutlierRecord is a pull far from the others of its class.
type OutlierRecord struct {
	ID   string `json:"id,omitempty"`
	Line int    `json:"line"`
	Day  string `json:"day"`
	ClassName
	Factor float64 `json:"factor"`
	Score  float64 `json:"robust_score"`
}

// Name is what people call the pull.
func (o OutlierRecord) Name() string { return named(o.ID, o.Line) }

// FlaggedRecord is a pull of which something is to be known. Low to High is
// how its factor entered; High is null where it is only a lower bound.
type FlaggedRecord struct {
	ID   string `json:"id,omitempty"`
	Line int    `json:"line"`
	Day  string `json:"day"`
	ClassName
	Factor float64  `json:"factor"`
	Flags  []string `json:"flags"`
	Low    float64  `json:"factor_low"`
	High   *float64 `json:"factor_high"`
}

// Name is what people call the pull.
func (f FlaggedRecord) Name() string { return named(f.ID, f.Line) }

// MultiplierOf names what the multipliers are of.
const MultiplierOf = "weight of the reference mass"

// Record gives the set in the form that leaves the program, with what becomes
// of it without outliers and without flagged pulls.
func (s Set) Record() SetRecord {
	r := SetRecord{
		Classes: []ClassRecord{}, LeftOut: []LeftOutRecord{}, Outliers: []OutlierRecord{}, Flagged: []FlaggedRecord{},
		Of: MultiplierOf,
	}
	for _, l := range s.LeftOut {
		r.LeftOut = append(r.LeftOut, l.record())
	}
	far := map[int]bool{}
	for _, o := range s.Outliers() {
		far[o.Pull.Line] = true
		r.Outliers = append(r.Outliers, OutlierRecord{o.Pull.ID, o.Pull.Line, o.Pull.Day, o.Pull.Class.Name(), o.Pull.Factor(), o.Score})
	}
	for _, p := range s.Used {
		if p.Flagged() {
			r.Flagged = append(r.Flagged, p.flagged())
		}
	}
	for _, c := range s.Classes {
		r.Classes = append(r.Classes, c.record())
	}
	if len(far) > 0 {
		less := s.Less(func(p Pull) bool { return far[p.Line] })
		r.beside(less, func(c *ClassRecord, b *BoundRecord) { c.WithoutOutliers = b })
	}
	if len(r.Flagged) > 0 {
		less := s.Less(Pull.Flagged)
		r.beside(less, func(c *ClassRecord, b *BoundRecord) { c.WithoutFlagged = b })
	}
	return r
}

func (l LeftOut) record() LeftOutRecord {
	return LeftOutRecord{l.Pull.ID, l.Pull.Line, l.Reason, l.Pull.Day, l.Pull.Class.Name()}
}

func (p Pull) flagged() FlaggedRecord {
	low, high := p.interval()
	f := FlaggedRecord{ID: p.ID, Line: p.Line, Day: p.Day, ClassName: p.Class.Name(), Factor: p.Factor(), Flags: p.Flags, Low: math.Exp(low)}
	if !math.IsInf(high, 1) {
		top := math.Exp(high)
		f.High = &top
	}
	return f
}

func (c ClassFit) record() ClassRecord {
	return ClassRecord{
		ClassName: c.Class.Name(), Pulls: c.Pulls, Days: c.Days, Median: c.Median, Upper: c.Upper, Pooled: c.Pooled,
		Intervals: c.Inexact, Note: c.Note(),
	}
}

// Note says what is to be known of the bound, or nothing.
func (c ClassFit) Note() string {
	switch {
	case c.Closed == 0:
		return words.Say("shock.class.lower-bounds")
	case c.Upper == nil && c.Pulls >= FewestAny:
		return words.Say("shock.few.whole")
	case c.Upper == nil:
		return words.Say("shock.few.pulls")
	case c.Pooled && c.Alone:
		return words.Say("shock.class.few.alone")
	case c.Pooled:
		return words.Say("shock.class.few")
	case c.Days == 1:
		return words.Say("shock.class.one-day")
	}
	return ""
}

// beside puts what is left of each class in another set beside it.
func (r *SetRecord) beside(less Set, put func(*ClassRecord, *BoundRecord)) {
	for i := range r.Classes {
		b := &BoundRecord{}
		for _, c := range less.Classes {
			if c.Class.Name() == r.Classes[i].ClassName {
				b.Pulls, b.Median, b.Upper = c.Pulls, &c.Median, c.Upper
			}
		}
		put(&r.Classes[i], b)
	}
}

// CheckRecord is the check of an assumed multiplier as JSON.
type CheckRecord struct {
	Answer   Answer   `json:"answer"`
	Pulls    int      `json:"pulls"`
	Above    int      `json:"above"`
	Low      float64  `json:"share_low"`
	High     float64  `json:"share_high"`
	Upper    *float64 `json:"upper_95_95"`
	More     *int     `json:"more_pulls_needed"`
	Assumed  float64  `json:"assumed"`
	Sentence string   `json:"sentence"`

	Perhaps   int         `json:"perhaps_above"`
	Model     *ModelShare `json:"model_share"`
	Unbounded []ClassName `json:"classes_without_bound"`
}

// ModelShare is the share above the assumed multiplier by the fit, for the
// class whose bound decides.
type ModelShare struct {
	ClassName
	Share float64 `json:"share"`
	Low   float64 `json:"share_low"`
	High  float64 `json:"share_high"`
}

// Record gives the check in the form that leaves the program.
func (c Checked) Record() CheckRecord {
	r := CheckRecord{
		Answer: c.Answer, Pulls: c.Pulls, Above: c.Above, Low: c.Low, High: c.High, Upper: c.Upper, More: c.More(),
		Assumed: c.Assumed, Sentence: c.Sentence(), Perhaps: c.Perhaps, Unbounded: []ClassName{},
	}
	for _, f := range c.Unbounded {
		r.Unbounded = append(r.Unbounded, f.Class.Name())
	}
	if c.Deciding != nil {
		if share, low, high, ok := c.Deciding.ShareAbove(c.Assumed); ok {
			r.Model = &ModelShare{c.Deciding.Class.Name(), share, low, high}
		}
	}
	return r
}

// Sentence says the share above for whoever reads the answer, with the class
// that it is of: the count beside it is of all classes that were asked for.
func (m ModelShare) Sentence() string {
	of := Class(m.ClassName)
	low, share, high := inHundred(m.Low), inHundred(m.Share), inHundred(m.High)
	if low == high {
		return words.Say("shock.check.share", share, of)
	}
	return words.Say("shock.check.share.interval", share, of, low, high)
}

// inHundred is a share in percent; one that nobody can imagine is only bounded.
func inHundred(x float64) string {
	switch {
	case x < 0.0005:
		return words.Say("shock.share.least")
	case x > 0.995:
		return words.Say("shock.share.most")
	case x >= 0.0995:
		return words.Say("shock.share.exact", 100*x)
	}
	return words.Say("shock.share", 100*x)
}
