package rehearse

import (
	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/wire"
)

// Invented is said wherever something of the World is shown.
const Invented = "Everything here is made up: the volunteers, the vehicles, the gear, its ratings and the pulls."

// World is an invented club with its vehicles, gear, rigs and cells, and the
// pulls that it makes.
type World struct {
	Notice   string // Invented
	Day      string // what the test day is called
	Place    string
	Grounds  []string
	Vehicles []gear.Vehicle
	Items    []gear.Item
	Rigs     []rig.Rig
	Benches  []Bench
	Past     []PastDay
}

// Bench is a cell of the World with what it will measure.
type Bench struct {
	Cell   Cell
	Rig    string // ID of the rig that hangs on it at the start
	Ground string
	Script Script
}

// The grounds of the World.
const (
	firmGravel = "firm gravel"
	wetSand    = "wet sand"
	silt       = "silt"
)

// Lower Fork's rigs.
const (
	rigInLine = "rig-in-line"
	rigBridle = "rig-bridle"
	rigWinch  = "rig-winch"
	rigFound  = "rig-found"
)

// NewWorld makes the world of the Lower Fork flood-rescue volunteers, who
// train on a river bar. All of it is invented.
func NewWorld() World {
	v, g := vehicles(), items()
	w := World{
		Notice: Invented, Day: "River training", Place: "Lower Fork river bar",
		Grounds: []string{firmGravel, wetSand, silt},
		Rigs:    rigs(v, g),
		Past:    pastDays(),
		Benches: []Bench{
			{Cell: riverOne(), Rig: rigInLine, Ground: wetSand, Script: trainingDay(riverOne().Name)},
			{Cell: riverTwo(), Rig: rigWinch, Ground: wetSand, Script: trainingDay(riverTwo().Name)},
		},
	}
	for _, id := range []string{"heron", "otter", "mole"} {
		w.Vehicles = append(w.Vehicles, v[id])
	}
	for _, id := range itemOrder() {
		w.Items = append(w.Items, g[id])
	}
	return w
}

// riverOne is a home-built amplifier behind a 100 kN cell: packed frames, a
// thousand readings a second, 4 N a count.
func riverOne() Cell {
	return Cell{
		Name: "River-1", Capacity: 100e3, Rate: 1000, PerFrame: 10,
		Curve: calibrate.Curve{Coefficients: []float64{-3248, 4}, Relative95: 0.005},
		Wire:  wire.Config{Format: wire.Packed},
		Noise: 20, Drift: 250, ZeroError: 60, Lag: 0.0005, ClockPPM: 35,
	}
}

// riverTwo is a hand-held indicator on a 50 kN cell: lines of text, 80
// readings a second, 10 N a step, no clock of its own.
func riverTwo() Cell {
	curve := calibrate.Line(unit.Kilonewton, 2)
	curve.Relative95 = 0.01
	return Cell{
		Name: "River-2", Capacity: 50e3, Rate: 80, Curve: curve,
		Wire: wire.Config{Format: wire.Text, Text: wire.TextConfig{
			Column: 1, Unit: string(unit.Kilonewton), Decimals: 2, Overload: []string{"OL"},
		}},
		Noise: 15, Drift: -120, Lag: 0.004,
	}
}

func vehicles() map[string]gear.Vehicle {
	mass := func(kg unit.Mass) *unit.Mass { return &kg }
	angle := func(deg float64) *unit.Angle { a := unit.Degrees(deg); return &a }
	length := func(m unit.Length) *unit.Length { return &m }
	list := map[string]gear.Vehicle{
		"heron": {Name: "Heron", GVM: mass(3100), Weighed: mass(2950), FullTurn: angle(33), Wheelbase: length(2.85)},
		"otter": {Name: "Otter", GVM: mass(2800), Weighed: mass(2650), FullTurn: angle(35), Wheelbase: length(2.7)},
		"mole":  {Name: "Mole", GVM: mass(4400), Notes: "Tracked carrier. Never weighed."},
	}
	for id, v := range list {
		v.ID = id
		list[id] = v
	}
	return list
}
