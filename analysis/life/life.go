package life

import (
	"math"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Carried is a pull of an item with what it carried there and the verdict on
// it. The item's Reason is left out; Life.Reason gives it.
type Carried struct {
	Use Use
	rating.Item
	// Share is the largest part of the cell's reading that it may have
	// carried; 0 where Known is false.
	Share float64
	// OfMBS is the load over the breaking strength stated for the item, and
	// OfWLL over its WLL (gear.Item.Stated), whatever the direction of the line; nil
	// where there is none or the load is not known. Item.OfMBS and Item.OfWLL
	// are over what speaks for this use.
	OfMBS, OfWLL *float64
}

// Count is how many pulls had a verdict.
type Count struct {
	Verdict rating.Verdict
	Pulls   int // at the peak as measured
	AtHigh  int // at the upper end of its interval
}

// Life is what an item has been through.
type Life struct {
	Item gear.Item
	// Pulls are all uses, in the order in which they were given; one of two
	// cells that saw the same pull.
	Pulls []Carried
	// Counts has every verdict, from the best to the worst.
	Counts []Count
	// Largest is the place in Pulls of the largest load, -1 where no load is
	// known. Unknown is how many pulls there are of which the load is not.
	Largest, Unknown int
	// First and Last are the starts of the first and last pull, ns UTC; 0
	// where there is none.
	First, Last int64
	// Rebounds is how often the line came taut again after the peak, in all
	// pulls. How hard is not kept.
	Rebounds int
	// Used is what the owner's rule counts.
	Used gear.Used
	// Age is how old the item is; empty text: not known.
	Age gear.Age
	// Retire says why by the owner's rule the item has to be retired; empty:
	// no reason is known. Due is when it has to be inspected next.
	Retire []string
	Due    gear.Due
}

// Of sums up the uses of an item by the ratings and rules that the item has
// now, as of today. What two cells saw of one pull counts once (Moments). Sentences are written in u, or kN where it is empty.
func Of(it gear.Item, uses []Use, today gear.Date, u unit.ForceUnit) Life {
	if u == "" {
		u = unit.DefaultShown
	}
	l := Life{Item: it, Largest: -1, Pulls: make([]Carried, 0, len(uses))}
	for _, v := range rating.Verdicts() {
		l.Counts = append(l.Counts, Count{Verdict: v})
	}
	mbs, wll := it.StatedMBS(), it.Stated(gear.WLL)
	uses = Moments(uses)
	for _, use := range uses {
		l.add(carried(it, use, mbs, wll))
	}
	l.Used = UsedIn(uses)
	l.Age, _ = it.Age(today)
	l.Retire, l.Due = it.RetireReasons(l.Used, today, u), it.Due(today)
	return l
}

func (l *Life) add(c Carried) {
	l.Counts[c.Verdict.Rank()].Pulls++
	l.Counts[c.AtHigh.Rank()].AtHigh++
	l.Rebounds += c.Use.Rebounds
	if l.First == 0 || c.Use.Start < l.First {
		l.First = c.Use.Start
	}
	l.Last = max(l.Last, c.Use.Start)
	switch {
	case !c.Known:
		l.Unknown++
	case l.Largest < 0 || c.Carried > l.Pulls[l.Largest].Carried:
		l.Largest = len(l.Pulls)
	}
	l.Pulls = append(l.Pulls, c)
}

// carried judges one use.
func carried(it gear.Item, use Use, mbs, wll unit.Force) Carried {
	c := Carried{Use: use}
	if use.Hung == nil {
		c.Item = rating.Item{ID: it.ID, Name: it.Name, Kind: it.Kind}
		c.Verdict, c.AtHigh = rating.NotJudged, rating.NotJudged
		return c
	}
	c.Item = rating.Weigh(use.peak(), use.Hung.place(it))
	if c.Known {
		c.Share = c.Factor
		c.OfMBS, c.OfWLL = over(c.Carried, mbs), over(c.Carried, wll)
	}
	return c
}

// Reason is the sentence to the verdict of a pull, by its place in Pulls, with
// forces in u.
func (l Life) Reason(i int, u unit.ForceUnit) string {
	use := l.Pulls[i].Use
	if use.Hung == nil {
		return words.Say("life.load.unknown")
	}
	return rating.JudgePlace(use.peak(), use.Hung.place(l.Item), u).Reason
}

func over(f, limit unit.Force) *float64 {
	if limit <= 0 {
		return nil
	}
	v := float64(f / limit)
	return &v
}

// Above counts the pulls in which the item carried more than a share of its
// breaking strength, 0.5 for half: at the peak as measured, and at the upper end
// of its interval. Both are 0 where no breaking strength is stated.
func (l Life) Above(share float64) (pulls, atHigh int) {
	mbs := l.Item.StatedMBS()
	if mbs <= 0 {
		return 0, 0
	}
	for _, c := range l.Pulls {
		if !c.Known {
			continue
		}
		if float64(c.Carried/mbs) > share {
			pulls++
		}
		if c.Open || float64(max(c.Carried, c.High)/mbs) > share {
			atHigh++
		}
	}
	return pulls, atHigh
}

// Relative weighs all pulls by the power slope of their load and says to how
// many at the largest load that comes: 2.5 means as much as two and a half
// pulls like the largest. It is false where no load is known.
//
// It is the linear sum of Palmgren (1924) and Miner (1945), dates from memory,
// over the peaks of pulls. No source gives a slope for recovery gear: the
// caller says one and shows it. It compares items that are used alike. It is
// relative, and no prediction of life.
func (l Life) Relative(slope float64) (float64, bool) {
	if l.Largest < 0 || l.Used.Peak <= 0 {
		return 0, false
	}
	sum := 0.0
	for _, c := range l.Pulls {
		if c.Known && c.Carried > 0 {
			sum += math.Pow(float64(c.Carried/l.Used.Peak), slope)
		}
	}
	return sum, true
}
