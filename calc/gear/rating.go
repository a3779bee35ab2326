package gear

import "tautlog/calc/unit"

// Basis is what a rated number means.
type Basis string

// The bases.
const (
	// WLL is a working load limit.
	WLL Basis = "WLL"
	// MBS is a minimum breaking strength.
	MBS Basis = "MBS"
	// Proof is a load that was applied once in a test. It is no working
	// limit.
	Proof Basis = "proof load"
	// Unknown is a stamped number that does not say what it is.
	Unknown Basis = "unknown"
)

// Bases lists every basis, in the order in which to offer them.
func Bases() []Basis { return []Basis{WLL, MBS, Proof, Unknown} }

// Together says whether a rating is for one item or for a pair of them.
type Together string

// How many items a rating is for.
const (
	// TogetherUnstated: the maker does not say; the rating is taken as that
	// of one item.
	TogetherUnstated Together = ""
	// Alone: the rating is that of one item used by itself.
	Alone Together = "alone"
	// Pair: the value is that of both items together, through a bridle. It
	// says nothing of one of them alone.
	Pair Together = "pair"
)

// FactorFrom says who stated a design factor.
type FactorFrom string

// Who stated a design factor.
const (
	FactorUnstated FactorFrom = ""      // not recorded
	FactorMaker    FactorFrom = "maker" // on the item or in its papers
	FactorOwner    FactorFrom = "owner" // a rule of whoever answers for the gear
)

// Rating is one number that an item is rated at, with what is known of its
// meaning.
type Rating struct {
	// Value is the rated force. It is above zero.
	Value unit.Force `json:"value"`
	// Basis is what the value means.
	Basis Basis `json:"basis"`
	// DesignFactor divides an MBS into a working limit. Nil where none was
	// stated: then there is no working limit.
	DesignFactor *float64 `json:"design_factor,omitempty"`
	// FactorFrom is who stated the design factor.
	FactorFrom FactorFrom `json:"factor_from,omitempty"`
	// Direction is the condition on the angle of the line.
	Direction Direction `json:"direction,omitzero"`
	// Together is the condition on use alone or as a pair.
	Together Together `json:"together,omitempty"`
	// Stamp is what is stamped on the item, word for word.
	Stamp string `json:"stamp,omitempty"`
}

// Working is the working limit that the rating gives in the direction for
// which it is stated: a WLL, or an MBS over its design factor. It is false
// where there is none.
func (r Rating) Working() (unit.Force, bool) {
	switch {
	case r.Basis == WLL:
		return r.Value, true
	case r.Basis == MBS && r.DesignFactor != nil:
		return r.Value / unit.Force(*r.DesignFactor), true
	}
	return 0, false
}
