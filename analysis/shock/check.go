package shock

import (
	"math"
	"strings"

	"tautlog/calc/words"
)

// Answer is what logged pulls say of an assumed multiplier.
type Answer string

// The answers.
const (
	// Supported: the bound lies at or below the assumed multiplier.
	Supported Answer = "supported"
	// Contradicted: even the lower limit of the share of pulls above the
	// assumed multiplier is more than 5 %.
	Contradicted Answer = "contradicted"
	// NotDecided: neither.
	NotDecided Answer = "not decided"
)

// Checked is an assumed multiplier against the pulls of some classes.
type Checked struct {
	Assumed float64
	Answer  Answer
	Pulls   int
	Above   int     // how many of them were above the assumed multiplier, as read
	Perhaps int     // how many more may have been: the interval of their peak reaches above
	Low     float64 // exact 95 % limits of the share above
	High    float64
	Upper   *float64 // the largest bound among the classes; nil where none has one
	// Deciding is the class with the largest bound.
	Deciding *ClassFit
	// Unbounded are the classes with too few pulls for a bound: the answer
	// does not speak of them.
	Unbounded []ClassFit

	picked []ClassFit // those with a bound
}

// allowed is the share of pulls above an assumed multiplier that is borne.
const allowed = 1 - Content

// Check holds an assumed multiplier against the classes that chosen picks. Of
// several classes the one with the largest bound decides, so that supported
// holds for each. Where the bound and the count speak against each other, the
// count is believed: it needs no model.
func (s Set) Check(assumed float64, chosen func(Class) bool) Checked {
	c := Checked{Assumed: assumed, Answer: NotDecided}
	for _, p := range s.Used {
		if chosen(p.Class) {
			c.Pulls++
			if _, high := p.interval(); p.Factor() > assumed {
				c.Above++
			} else if math.Exp(high) > assumed {
				c.Perhaps++
			}
		}
	}
	c.Low, c.High = Share(c.Above, c.Pulls, Confidence)
	for _, f := range s.Classes {
		if !chosen(f.Class) {
			continue
		}
		if f.Upper == nil {
			c.Unbounded = append(c.Unbounded, f)
			continue
		}
		c.picked = append(c.picked, f)
		if c.Upper == nil || *f.Upper > *c.Upper {
			c.Upper, c.Deciding = f.Upper, &f
		}
	}
	switch {
	case c.Low > allowed:
		c.Answer = Contradicted
	case c.Upper != nil && *c.Upper <= assumed:
		c.Answer = Supported
	}
	return c
}

// mostMore is from how many more pulls on none are named.
const mostMore = 100_000

// More reckons how many more pulls would decide if they were like those that
// were logged: 0 where it is decided, nil where no number that anybody would
// pull does.
func (c Checked) More() *int {
	n := 0
	if c.Answer != NotDecided {
		return &n
	}
	if len(c.picked) == 0 {
		most := 0
		for _, f := range c.Unbounded {
			most = max(most, f.Closed)
		}
		n = max(FewestAny-most, 1)
		return &n
	}
	for _, f := range c.picked {
		more, ok := f.toSupport(c.Assumed)
		if !ok {
			return c.toContradict()
		}
		n += more
	}
	if n > mostMore {
		return nil
	}
	return &n
}

// toSupport is how many more pulls of the class would bring its bound down to
// the assumed multiplier, and whether any would. What the bound lies above the
// likely percentile shrinks as the tolerance factor does; the number of
// independent pulls to which today's excess belongs stands for days and
// borrowing.
func (c ClassFit) toSupport(assumed float64) (more int, ok bool) {
	z := normalQuantile(Content)
	likely, sigma := c.belief.quantile(0.5, z), c.belief.total()
	upper, room := math.Log(*c.Upper)-likely, math.Log(assumed)-likely
	switch {
	case upper <= room:
		return 0, true
	case !(room > 0):
		return 0, false
	}
	now, then := asMany(upper/sigma+z), asMany(room/sigma+z)
	return max(1, int(math.Ceil(float64(c.Pulls)*(math.Min(then/now, 2*mostMore)-1)))), true
}

// asMany is how many independent values have the tolerance factor k.
func asMany(k float64) float64 {
	missing := func(x float64) float64 { return k - factor(math.Exp(x), Content, Confidence) }
	low, high := math.Log(2), math.Log(1e9)
	fl, fh := missing(low), missing(high)
	switch {
	case fl >= 0:
		return 2
	case fh <= 0:
		return 1e9
	}
	return math.Exp(between(missing, low, high, fl, fh, 1e-6))
}

// toContradict is how many more pulls would show that too many lie above, if
// they go on in the share that the fit expects.
func (c Checked) toContradict() *int {
	share, pulls := 0.0, 0
	for _, f := range c.picked {
		likely, _, _, _ := f.ShareAbove(c.Assumed)
		share += likely * float64(f.Pulls)
		pulls += f.Pulls
	}
	if share /= float64(pulls); share <= allowed {
		return nil
	}
	shows := func(more int) bool {
		low, _ := Share(c.Above+int(math.Round(share*float64(more))), c.Pulls+more, Confidence)
		return low > allowed
	}
	high := 1
	for !shows(high) {
		if high *= 2; high > mostMore {
			return nil
		}
	}
	low := high / 2
	for high-low > 1 {
		if mid := (low + high) / 2; shows(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return &high
}

// Sentence says it for a committee.
func (c Checked) Sentence() string {
	if c.Pulls == 0 {
		return words.Say("shock.check.nothing")
	}
	said := append([]string{c.verdict()}, c.bound()...)
	said = append(said, c.counted()...)
	return strings.Join(append(said, c.silent()...), " ")
}

// counted is what the count alone says: less than the bound, which also takes
// in how far from the assumed multiplier the peaks were.
func (c Checked) counted() []string {
	name := "one"
	if c.Above != 1 {
		name = "more"
	}
	of := words.Count("shock.of-pulls", c.Pulls, c.Above)
	said := words.Say("shock.counted."+name, of, c.Assumed, percent(c.Low), percent(c.High))
	if c.Answer == Supported && c.High > allowed {
		said = words.Say("shock.counted."+name+".bound", of, c.Assumed, percent(c.Low), percent(c.High), c.Assumed)
	}
	if c.Perhaps == 0 {
		return []string{said}
	}
	return []string{said, words.Count("shock.perhaps", c.Perhaps)}
}

func (c Checked) verdict() string {
	more := c.More()
	switch {
	case c.Answer == Supported:
		return words.Say("shock.check.supported", c.Assumed)
	case c.Answer == Contradicted:
		return words.Say("shock.check.contradicted", c.Assumed)
	case more == nil:
		return words.Say("shock.check.undecided", c.Assumed)
	}
	return words.Count("shock.undecided", *more, c.Assumed)
}

func (c Checked) bound() []string {
	if c.Upper == nil {
		return []string{words.Count("shock.few", FewestAny)}
	}
	d, name := c.Deciding, "shock.bound"
	if len(c.picked) > 1 {
		name = "shock.bound.largest"
	}
	said := []string{words.Say(name, *c.Upper, d.Class, words.Count("shock.pulls", d.Pulls), words.Count("shock.days", d.Days))}
	if d.Days == 1 {
		said = append(said, words.Say("shock.bound.day"))
	}
	return said
}

func (c Checked) silent() []string {
	if len(c.Unbounded) == 0 || c.Upper == nil {
		return nil
	}
	var classes []string
	for _, f := range c.Unbounded {
		classes = append(classes, f.Class.String())
	}
	return []string{words.Say("shock.silent", strings.Join(classes, "; "))}
}

func percent(x float64) string { return words.Say("shock.percent", 100*x) }
