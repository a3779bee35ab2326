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

	Rig       string     `json:"rig,omitempty"` // name
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
	// Places is how many places of the rig had an item of this key: above 1
	// where several items are alike and have no ID. Hung is then the one that
	// carried most.
	Places int `json:"places"`
}

func (u Use) peak() rating.Peak {
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
		Holds: h.Holds, Share: rig.Share{Factor: h.Factor, Alone: h.Alone, Unbounded: h.Unbounded},
	}
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
		Start: p.Start, Kind: kind, Rig: r.Name, Peak: p.Peak, Low: p.PeakLow, High: p.PeakHigh, Open: rating.PeakOf(p).Open,
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
		if at := &out[i].Hung; h.hung != nil && (*at == nil || h.hung.most() > (*at).most()) {
			*at = h.hung
		}
	}
	return out
}

type hangs struct {
	key  string
	hung *Hung
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
	for _, p := range places {
		if !p.OfItsPoint() {
			out = append(out, hangs{p.Use.Item.Key(), hung(p)})
		}
	}
	return out
}

func hung(p rig.Place) *Hung {
	return &Hung{
		Ref: p.Ref, Where: p.Where, Factor: p.Share.Factor, Alone: p.Share.Alone, Unbounded: p.Share.Unbounded,
		Heading: p.Heading, Paired: p.Paired, PairHeading: p.PairHeading, Holds: p.Holds,
	}
}
