package life

import (
	"slices"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Use is an item in one pull. Forces are those at the cell.
type Use struct {
	Pull   int64     `json:"-"` // its number in the log
	Start  int64     `json:"-"` // ns UTC
	Kind   pull.Kind `json:"-"`
	Ground string    `json:"-"`

	// Beside has the numbers of the pulls of the rig's other cell that are the
	// same pull: see Moments.
	Beside []int64 `json:"-"`

	End       int64      `json:"end"`            // ns UTC
	Read      string     `json:"read,omitempty"` // the name of the cell that read it
	Rig       string     `json:"rig,omitempty"`  // name
	Peak      unit.Force `json:"peak"`
	Low       unit.Force `json:"low"` // 95 % interval of the true peak; both 0: not known
	High      unit.Force `json:"high"`
	Open      bool       `json:"open,omitempty"` // the peak is only a lower bound
	AboveHalf float64    `json:"above_half,omitempty"`
	Rebounds  int        `json:"rebounds,omitempty"`
	Unsettled bool       `json:"unsettled,omitempty"` // the pull may still go on
	Flags     []string   `json:"flags,omitempty"`

	// Hung is how the item hung in the line; nil where its rig cannot be
	// solved, so that what it carried is not known.
	Hung *Hung `json:"hung,omitempty"`
	// Both is how it hung by the readings of both cells, in a rig that has two.
	Both *Hung `json:"both,omitempty"`
	// Places is how many places of the rig had an item of this key: above 1
	// where several items are alike and have no ID. Hung is then the one that
	// carried most.
	Places int `json:"places"`

	// combined is the peak of two cells, which is an upper bound; nil: Peak is
	// of one.
	combined *rating.Peak
}

// Most is the largest load that the item may have carried at the peak as
// measured, as far as the cell tells: a leg of a bridle that may not share may
// have carried all. It is false where that is not known.
func (u Use) Most() (unit.Force, bool) {
	if u.Hung == nil {
		return 0, false
	}
	return u.Peak * unit.Force(u.Hung.most()), true
}

func (u Use) peak() rating.Peak {
	if u.combined != nil {
		return *u.combined
	}
	return rating.Peak{Value: u.Peak, Low: u.Low, High: u.High, Open: u.Open, Kind: u.Kind}
}

// Hung is how an item hung in the line: what of a rig.Place a verdict needs.
type Hung struct {
	Ref         string       `json:"ref"`
	Where       string       `json:"where,omitempty"`
	Factor      float64      `json:"factor"` // see rig.Share
	Alone       *float64     `json:"alone,omitempty"`
	Unbounded   bool         `json:"unbounded,omitempty"`
	Heading     gear.Heading `json:"heading,omitzero"`
	Paired      bool         `json:"paired,omitempty"`
	PairHeading gear.Heading `json:"pair_heading,omitzero"`
	Holds       *gear.Item   `json:"holds,omitempty"` // of a mounting: the point
	Cells       []string     `json:"cells,omitempty"` // see rig.Share, as Joint
	Joint       *unit.Angle  `json:"joint,omitempty"`
}

// most is the largest share that the item may have carried.
func (h Hung) most() float64 {
	if h.Alone != nil {
		return max(h.Factor, *h.Alone)
	}
	return h.Factor
}

// place is the place in which to judge an item.
func (h Hung) place(it gear.Item) rig.Place {
	return rig.Place{
		Ref: h.Ref, Where: h.Where, Use: rig.Use{Item: it}, Heading: h.Heading, Paired: h.Paired, PairHeading: h.PairHeading,
		Holds: h.Holds, Share: h.share(),
	}
}

func (h Hung) share() rig.Share {
	return rig.Share{Factor: h.Factor, Alone: h.Alone, Unbounded: h.Unbounded, Cells: h.Cells, Joint: h.Joint}
}

// Keyed is the use of an item of a rig, with what the item is told by.
type Keyed struct {
	Key string // gear.Item.Key
	Use
}

// Uses lists what each item of a rig was through in a pull, once for each key,
// in the order of the chain. What is recorded with a point as its mounting
// belongs to the point and is not listed by itself. Cell is the name of the cell
// that read the pull, which matters in a rig with two.
func Uses(p pull.Pull, kind pull.Kind, settled bool, r rig.Rig, cell string) []Keyed {
	base := Use{
		Start: p.Start, End: p.End, Kind: kind, Rig: r.Name, Read: cell, Peak: p.Peak, Low: p.PeakLow, High: p.PeakHigh, Open: rating.PeakOf(p).Open,
		AboveHalf: p.AboveHalf, Rebounds: p.Rebounds, Unsettled: !settled, Flags: p.Flags,
	}
	var out []Keyed
	for _, h := range hanging(r, cell) {
		i := slices.IndexFunc(out, func(k Keyed) bool { return k.Key == h.key })
		if i < 0 {
			i = len(out)
			out = append(out, Keyed{h.key, base})
		}
		out[i].Places++
		out[i].Hung, out[i].Both = more(out[i].Hung, h.hung), more(out[i].Both, h.both)
	}
	return out
}

// more is the one of two ways to hang in which more was carried.
func more(a, b *Hung) *Hung {
	if a == nil || b != nil && b.most() > a.most() {
		return b
	}
	return a
}

type hangs struct {
	key        string
	hung, both *Hung
}

// hanging lists the items of a rig and, where it can be solved, how each hung.
func hanging(r rig.Rig, cell string) (out []hangs) {
	places, err := r.PlacesBy(r.CellRead(cell))
	if err != nil {
		for _, u := range r.Uses() {
			out = append(out, hangs{key: u.Item.Key()})
		}
		return out
	}
	both, err := r.PlacesByBoth() // in the same order
	for i, p := range places {
		if p.OfItsPoint() {
			continue
		}
		h := hangs{key: p.Use.Item.Key(), hung: hung(p)}
		if err == nil {
			h.both = hung(both[i])
		}
		out = append(out, h)
	}
	return out
}

func hung(p rig.Place) *Hung {
	return &Hung{
		Ref: p.Ref, Where: p.Where, Factor: p.Share.Factor, Alone: p.Share.Alone, Unbounded: p.Share.Unbounded,
		Heading: p.Heading, Paired: p.Paired, PairHeading: p.PairHeading, Holds: p.Holds, Cells: p.Share.Cells, Joint: p.Share.Joint,
	}
}
