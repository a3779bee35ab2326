package record

import (
	"time"

	"tautlog/ingest/wire"
)

// Status says how a cell is doing.
type Status struct {
	Cell int64
	Name string
	// Up says that the device is open.
	Up bool
	// Silent says that the device is open, but sends nothing that can be read.
	Silent bool
	// Since is when the cell came into this state: up, down or silent.
	Since time.Time
	// Problem is a sentence for people, what is wrong where and what to do;
	// empty when nothing is wrong.
	Problem string
	// LastReading is the time of the latest reading; zero when there was none.
	LastReading time.Time
	// Held is the number of readings that are in memory only.
	Held int
	// Lost is the number of readings that arrived but had to be given up,
	// because the disk refused them for longer than memory lasts.
	Lost int
	// Decode counts what the decoder took and refused.
	Decode wire.Stats
	// Asked counts what was asked of it; zero where it sends by itself.
	Asked Asked
}
