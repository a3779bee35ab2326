package rehearse

import (
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

const tonne = unit.TonneForce

// itemOrder lists the items as a register would.
func itemOrder() []string {
	return []string{
		"heron-receiver", "otter-front-3t5", "otter-front-left", "otter-front-right", "otter-lashing-eye", "mole-front",
		"bow-shackle-7", "bow-shackle-8", "bow-shackle-12", "soft-shackle-3", "soft-shackle-5",
		"blue-strap", "green-rope", "bridle", "tree-strap", "heron-winch", "winch-rope", "snatch-block", "willow",
		"river-1", "river-2", "damper",
	}
}

// items is the gear store of Lower Fork: ratings on unlike bases, as in any
// store, and all invented.
func items() map[string]gear.Item {
	list := map[string]gear.Item{}
	for _, part := range []map[string]gear.Item{points(), connectors(), lines(), winching()} {
		for id, it := range part {
			it.ID = id
			list[id] = it
		}
	}
	return list
}

func points() map[string]gear.Item {
	pair := []gear.Rating{{Value: 5 * tonne, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(45)), Together: gear.Pair, Stamp: "5T PAIR"}}
	return map[string]gear.Item{
		"heron-receiver": {
			Name: "Heron rear receiver", Kind: gear.HitchReceiver, Vehicle: "heron", Where: "rear",
			Ratings: []gear.Rating{{Value: 5 * tonne, Basis: gear.WLL, Direction: gear.Straight(), Stamp: "WLL 5 t straight pull"}},
		},
		"otter-front-3t5": {
			Name: "Otter front point", Kind: gear.RecoveryPoint, Vehicle: "otter", Where: "front centre",
			Ratings: []gear.Rating{{Value: 3.5 * tonne, Basis: gear.Unknown, Stamp: "3.5T"}},
			Notes:   "Came with the vehicle. Nobody knows what the number means.",
		},
		"otter-front-left": {Name: "Otter front left", Kind: gear.RecoveryPoint, Vehicle: "otter", Where: "front left", Ratings: pair},
		"otter-front-right": {
			Name: "Otter front right", Kind: gear.RecoveryPoint, Vehicle: "otter", Where: "front right", Ratings: pair,
		},
		"otter-lashing-eye": {
			Name: "Otter rear lashing eye", Kind: gear.TieDown, Vehicle: "otter", Where: "rear left",
			Ratings: []gear.Rating{{Value: 20e3, Basis: gear.Unknown, Stamp: "20 kN"}},
			Notes:   "For the ferry only.",
		},
		"mole-front": {
			Name: "Mole front point", Kind: gear.RecoveryPoint, Vehicle: "mole", Where: "front",
			Ratings: []gear.Rating{{Value: 6 * tonne, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(30)), Together: gear.Alone, Stamp: "WLL 6 t 30°"}},
		},
	}
}

func connectors() map[string]gear.Item {
	bow := func(name string) gear.Item {
		return gear.Item{Name: name, Kind: gear.BowShackle, Ratings: []gear.Rating{
			{Value: 4.75 * tonne, Basis: gear.WLL, Direction: gear.Direction{Rule: gear.SideLoadSteps}, Stamp: "WLL 4 3/4 T"},
		}}
	}
	soft := func(name string) gear.Item {
		factor := 5.0
		return gear.Item{Name: name, Kind: gear.SoftShackle, Ratings: []gear.Rating{
			{Value: 20 * tonne, Basis: gear.MBS, DesignFactor: &factor, FactorFrom: gear.FactorMaker, Stamp: "MBS 20 t, 5:1"},
		}}
	}
	return map[string]gear.Item{
		"bow-shackle-7": bow("bow shackle 7"), "bow-shackle-8": bow("bow shackle 8"), "bow-shackle-12": bow("bow shackle 12"),
		"soft-shackle-3": soft("soft shackle 3"), "soft-shackle-5": soft("soft shackle 5"),
	}
}

func lines() map[string]gear.Item {
	mbs := func(t unit.Force) []gear.Rating { return []gear.Rating{{Value: t * tonne, Basis: gear.MBS}} }
	length := func(m unit.Length) *unit.Length { return &m }
	ropeFactor := 2.5
	rope := mbs(13)
	rope[0].DesignFactor, rope[0].FactorFrom = &ropeFactor, gear.FactorOwner
	return map[string]gear.Item{
		"blue-strap": {Name: "blue strap 9 m", Kind: gear.RecoveryStrap, Length: length(9), Ratings: mbs(8), Made: "2023"},
		"green-rope": {Name: "green rope 8 m", Kind: gear.KineticRope, Length: length(8), Ratings: rope, Made: "2025"},
		"bridle":     {Name: "bridle 3 m", Kind: gear.Bridle, Length: length(3), Ratings: mbs(8)},
		"tree-strap": {Name: "tree strap 3 m", Kind: gear.TreeStrap, Length: length(3), Ratings: mbs(12)},
	}
}

func winching() map[string]gear.Item {
	wll := func(t unit.Force) []gear.Rating { return []gear.Rating{{Value: t * tonne, Basis: gear.WLL}} }
	ropeLength := unit.Length(28)
	return map[string]gear.Item{
		"heron-winch":  {Name: "Heron winch", Kind: gear.Winch, Vehicle: "heron", Where: "front", Ratings: wll(4.3), Notes: "First layer."},
		"winch-rope":   {Name: "grey winch rope 28 m", Kind: gear.WinchRope, Length: &ropeLength, Ratings: []gear.Rating{{Value: 9.5 * tonne, Basis: gear.MBS}}},
		"snatch-block": {Name: "snatch block 2", Kind: gear.Block, Ratings: wll(4)},
		"willow":       {Name: "the big willow", Kind: gear.GroundAnchor, Notes: "Alive. Nobody can say what it holds."},
		"river-1":      {Name: "cell River-1", Kind: gear.LoadCell, Ratings: wll(10)},
		"river-2":      {Name: "cell River-2", Kind: gear.LoadCell, Ratings: wll(5)},
		"damper":       {Name: "river mat", Kind: gear.Damper},
	}
}

// rigs is what Lower Fork rigs with it.
func rigs(v map[string]gear.Vehicle, g map[string]gear.Item) []rig.Rig {
	line := func(id string) rig.Link { return rig.InLine(g[id]) }
	fixed := func(id string, deg float64) rig.Link {
		u := at(g[id], deg)
		return rig.Link{Use: &u}
	}
	sheave := 0.1
	return []rig.Rig{
		{
			ID: rigInLine, Name: "Heron pulls Otter, blue strap", Pulling: v["heron"], Stuck: v["otter"],
			Chain: []rig.Link{fixed("heron-receiver", 0), fixed("bow-shackle-12", 0), line("river-1"), line("blue-strap"), line("soft-shackle-3"), fixed("otter-front-3t5", 0)},
		},
		{
			ID: rigBridle, Name: "Heron pulls Otter, bridle", Pulling: v["heron"], Stuck: v["otter"],
			Chain: []rig.Link{
				fixed("heron-receiver", 0), fixed("bow-shackle-12", 0), line("river-1"), line("green-rope"),
				{Bridle: &rig.Bridle{
					Included: unit.Degrees(60), Strap: &rig.Use{Item: g["bridle"]},
					Left:  []rig.Use{at(g["bow-shackle-7"], 0), {Item: g["otter-front-left"]}},
					Right: []rig.Use{at(g["bow-shackle-8"], 0), {Item: g["otter-front-right"]}},
				}},
			},
			Notes: "The bridle is sewn at the middle: it does not equalise.",
		},
		{
			ID: rigWinch, Name: "Heron winches Mole around the willow", Pulling: v["heron"], Stuck: v["mole"],
			Chain: []rig.Link{
				line("heron-winch"), line("winch-rope"),
				{Redirect: &rig.Redirect{Included: unit.Degrees(60), Loss: &sheave, Block: []rig.Use{{Item: g["snatch-block"]}, {Item: g["tree-strap"]}, at(g["willow"], 0)}}},
				line("river-2"), line("soft-shackle-5"), fixed("mole-front", 20),
			},
		},
		{
			ID: rigFound, Name: "As found on arrival", Pulling: v["mole"], Stuck: v["otter"],
			Chain: []rig.Link{fixed("mole-front", 0), line("bow-shackle-7"), line("river-1"), line("blue-strap"), line("soft-shackle-3"), fixed("otter-lashing-eye", 0)},
			Notes: "Kept to show what a lashing eye is not for.",
		},
	}
}

// at is an item at which the line lies deg degrees to the side.
func at(it gear.Item, deg float64) rig.Use {
	a := unit.Degrees(deg)
	return rig.Use{Item: it, OffAxis: &rig.OffAxis{Horizontal: &a}}
}
