package steady

import "tautlog/calc/words"

// Surfaces lists the surfaces in the order in which they are offered, from
// easy to hard.
//
// Rows of different sources stand under one name where they mean the same
// ground; which do is a judgement, so each row keeps the words of its source.
func Surfaces() []Surface {
	return []Surface{
		{Name: firmGround, Also: []string{"firm"}, Rows: []Row{
			{words.Say("steady.row.firm-rigid-surface-no-penetration"), words.Say("steady.for.earth-movers"), Exactly(0.02), earthMoving()},
		}},
		{Name: "hard road", Rows: []Row{{words.Say("steady.row.hard-road"), "", Exactly(0.008), marks()}}},
		{Name: "asphalt", Also: []string{"tar"}, Rows: asphalt()},
		{Name: "concrete", Rows: concrete()},
		{Name: "worn asphalt or concrete", Also: []string{"worn asphalt", "worn concrete"}, Rows: []Row{
			{words.Say("steady.row.worn-asphalt-concrete"), "", Exactly(0.02), carvill()},
		}},
		{Name: "worn cobbles", Also: []string{"cobbles", "large worn cobbles"}, Rows: []Row{
			{words.Say("steady.row.large-worn-cobbles"), words.Say("steady.for.cars"), Exactly(0.03), engineeringTable()},
		}},
		{Name: "packed gravel", Also: []string{"firm gravel", "dry firm packed gravel"}, Rows: packedGravel()},
		{Name: "rolled gravel", Also: []string{"rolled new gravel"}, Rows: rolledGravel()},
		{Name: "loose gravel", Also: []string{"loose worn gravel", "wet loose gravel"}, Rows: looseGravel()},
		{Name: "gravel", Rows: append(append(packedGravel(), rolledGravel()...), looseGravel()...)},
		{Name: "medium hard soil", Also: []string{"medium soil", "soil"}, Rows: mediumSoil()},
		{Name: "solid sand", Rows: []Row{solidSandToSoil()}},
		{Name: "sand", Rows: sand()},
		{Name: "loose sand", Rows: []Row{looseSand()}},
		{Name: "snow", Rows: []Row{{words.Say("steady.row.snow"), "", Between(0.1, 0.3), snowCase()}}},
	}
}

// firmGround is the only surface that the penetration of the tyres adds to:
// its source gives the two as one formula.
const firmGround = "firm ground"

func newAsphaltOrConcrete() []Row {
	return []Row{
		{words.Say("steady.row.new-asphalt-concrete"), "", Exactly(0.01), carvill()},
		{words.Say("steady.row.concrete-new-asphalt-small-new"), words.Say("steady.for.cars"), Between(0.01, 0.015), engineeringTable()},
	}
}

func asphalt() []Row {
	return append(newAsphaltOrConcrete(),
		Row{words.Say("steady.row.truck-tyre-on-asphalt"), words.Say("steady.for.trucks"), Between(0.006, 0.01), engineeringTable()},
		Row{words.Say("steady.row.tar-or-asphalt"), words.Say("steady.for.cars"), Exactly(0.02), engineeringTable()},
	)
}

func concrete() []Row {
	return append(newAsphaltOrConcrete(), byVehicle(words.Say("steady.row.concrete"), 0.015, 0.012, 0.020)...)
}

// byVehicle is one line of the lecture table.
func byVehicle(said string, cars, trucks, tractors float64) []Row {
	return []Row{
		{said, words.Say("steady.for.cars"), Exactly(cars), lectureTable()},
		{said, words.Say("steady.for.trucks"), Exactly(trucks), lectureTable()},
		{said, words.Say("steady.for.tractors"), Exactly(tractors), lectureTable()},
	}
}

func packedGravel() []Row {
	return []Row{{words.Say("steady.row.dry-firm-packed-gravel"), "", Exactly(0.012), marks()}}
}

func rolledGravel() []Row {
	return []Row{
		{words.Say("steady.row.rolled-new-gravel"), "", Exactly(0.01), carvill()},
		{words.Say("steady.row.rolled-new-gravel"), words.Say("steady.for.cars"), Exactly(0.02), engineeringTable()},
	}
}

func looseGravel() []Row {
	return []Row{
		{words.Say("steady.row.loose-worn-gravel"), "", Exactly(0.04), carvill()},
		{words.Say("steady.row.wet-loose-gravel"), "", Exactly(0.06), marks()},
		solidSandToSoil(),
	}
}

func mediumSoil() []Row {
	rows := []Row{{words.Say("steady.row.medium-hard-soil"), "", Exactly(0.08), carvill()}, solidSandToSoil()}
	return append(rows, byVehicle(words.Say("steady.row.medium-hard-soil"), 0.08, 0.06, 0.04)...)
}

func solidSandToSoil() Row {
	return Row{words.Say("steady.row.solid-sand-loose-worn-gravel"), words.Say("steady.for.cars"), Between(0.04, 0.08), engineeringTable()}
}

func looseSand() Row {
	return Row{words.Say("steady.row.loose-sand"), words.Say("steady.for.cars"), Between(0.2, 0.4), engineeringTable()}
}

func sand() []Row {
	rows := []Row{{words.Say("steady.row.sand"), "", Between(0.1, 0.2), carvill()}}
	return append(append(rows, byVehicle(words.Say("steady.row.sand"), 0.30, 0.25, 0.20)...), looseSand())
}
