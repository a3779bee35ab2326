package rig

import (
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// Place is an item in a rig with what it carries.
type Place struct {
	// Ref is unique within the rig and counts from 1 along the chain: "2",
	// "5.left.1", "3.block.2", "1.fall.1", "1.sheave2.1", "5.strap".
	Ref string
	// Where says it in words: "left leg of the stuck end's bridle".
	Where string
	// Use is the item with the angle as recorded.
	Use Use
	// Heading is how the line lies at the item, as recorded or as it follows
	// from the rig.
	Heading gear.Heading
	// Paired says that the item is one of two through a bridle.
	Paired bool
	// PairHeading is how the line lies to the two as a whole.
	PairHeading gear.Heading
	// End is the end that the item is fixed to; empty where it hangs in the
	// line.
	End Side
	// Holds is the point that a mounting holds; nil for what is no mounting,
	// and where no point is beside it.
	Holds *gear.Item
	// Share is what it carries.
	Share Share
}

// Share is what an item carries in relation to the cell's reading F.
type Share struct {
	// Factor is the load over the reading; in a bridle, with both legs
	// sharing equally.
	Factor float64
	// Formula is the same in symbols: "F / (2 cos 30°) = 0.58 F".
	Formula string
	// Sentence explains it: "each leg carries F / (2 cos 30°) = 0.58 F".
	Sentence string
	// Alone is the load over the reading if the legs do not share and this
	// one takes all; nil where that cannot happen.
	Alone *float64
	// Unbounded says that the cell hangs in a leg of a bridle that may not
	// share, so that Factor is only right if it does: the load may be any.
	Unbounded bool
	// Cells names the cells, of a rig with two, whose readings F follows from.
	// Nil: F is the reading of the only cell, or of the one that was asked
	// for. With two names F is at most that of Joint, or the larger reading
	// where there is none.
	Cells []string
	// Joint is the included angle between the legs in which both cells hang,
	// where F is that of the line: see Jointly.
	Joint *unit.Angle
}
