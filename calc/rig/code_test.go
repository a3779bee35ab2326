package rig_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/strict"
	"tautlog/calc/unit"
)

// file wraps links into a rig file; the links stand on line 2.
func file(links string) string {
	return `{"name":"r","pulling":{"name":"Heron"},"stuck":{"name":"Otter"},"chain":[` + "\n" + links + "]}"
}

const cellText = `{"item":{"name":"River-1","kind":"load cell"}}`

// pointText is a point with these keys in its mounting, and a cell.
func pointText(mounting string) string {
	return `{"item":{"name":"p","kind":"recovery point","mounting":{` + mounting + `}}},` + cellText
}

func TestDecodeRefuses(t *testing.T) {
	t.Parallel()
	for links, want := range map[string]string{
		``:                                    `line 1, column 73 (chain): the chain is empty: list the items from the pulling end to the stuck end`,
		`{"item":{"name":"a","kind":"ring"}}`: `line 1, column 73 (chain): there is no load cell in the chain: add an item of kind "load cell" where the cell sits`,
		cellText + `,` + cellText:             `line 1, column 73 (chain): both load cells in the chain are called "River-1": name them as they are`,
		cellText + `,` + cellText + `,` + cellText:          `line 1, column 73 (chain): there are 3 load cells in the chain: keep the one or two that the readings come from`,
		`{"item":{"name":"a","kind":"shackle"}}`:            `(chain#1.item.kind): "shackle" is not a kind of gear: write one of recovery point, mounting`,
		`{"item":{"kind":"ring"}},` + cellText:              `(chain#1.item.name): the item has no name`,
		`{"item":{"name":"d","kind":"damper"}},` + cellText: `a damper lies on the line and carries nothing: leave it out of the chain`,
		`{},` + cellText: `line 2, column 1 (chain#1): a link is exactly one of item, bridle, redirect or tackle; this one is 0 of them`,
		cellText + `,{"bridle":{"included_angle":"200deg","left":[],"right":[]}}`: `(chain#2.bridle.included_angle): 200° between the legs of a bridle is not possible: an angle from 0 to less than 180° (and 1 more problem)`,
		cellText + `,{"bridle":{"included_angle":60}}`:                            `(chain#2.bridle.included_angle): "60" is not an angle`,
		`{"bridle":{"included_angle":"60deg","strap":{"item":{"name":"b","kind":"bridle"}}}},{"bridle":{"included_angle":"60deg","strap":{"item":{"name":"b","kind":"bridle"}}}},` + cellText: `(chain#2.bridle): a bridle is the first or the last link of the chain`,
		cellText + `,{"redirect":{"included_angle":"181deg","block":[]}}`:                                                     `(chain#2.redirect.included_angle): 181° is not possible here: an angle between 0 and 180° (and 1 more problem)`,
		cellText + `,{"redirect":{"included_angle":"90deg","sheave_loss":10,"block":[{"item":{"name":"b","kind":"block"}}]}}`: `(chain#2.redirect.sheave_loss): 10 is not a part of the line pull: write 0.1 for 10 %`,
		cellText + `,{"tackle":{"parts":1}}`:                                                                                  `(chain#2.tackle.parts): 1 line parts: a tackle has 2 to 16`,
		cellText + `,{"tackle":{"parts":3,"sheaves":[[]]}}`:                                                                   `(chain#2.tackle.sheaves): 3 line parts run over 2 sheaves; 1 are listed`,
		`{"item":{"name":"River-1","kind":"load cell"},"off_axis":{"horizontal":"200deg"}}`:                                   `(chain#1.off_axis.horizontal): 200° is not possible here: an angle between -180 and 180°`,
		`{"item":{"name":"River-1","kind":"load cell"},"off_axis":{"horizontal":"20deg","full_turn":true}}`:                   `(chain#1.off_axis): give either a horizontal angle or full_turn`,
		`{"item":{"name":"River-1","kind":"load cell","ratings":[{"value":"0t","basis":"WLL"}]}}`:                             `(chain#1.item.ratings#1.value): a rating is above zero: leave the rating out where it is not known`,
		`{"item":{"name":"River-1","kind":"load cell","ratings":[{"value":"5t"}]}}`:                                           `(chain#1.item.ratings#1.basis): the rating has no basis: write one of WLL, MBS, proof load, unknown`,
		`{"item":{"name":"River-1","kind":"load cell","ratings":[{"value":5,"basis":"WLL"}]}}`:                                `(chain#1.item.ratings#1.value): "5" is not a force: a bare number is refused, add one of kN`,
		`{"item":{"name":"River-1","kind":"load cell","ratings":[{"value":"5t","basis":"WLL","design_factor":4}]}}`:           `(chain#1.item.ratings#1.design_factor): a design factor belongs to an MBS`,
		`{"item":{"name":"River-1","kind":"load cell","ratings":[{"value":"5t","basis":"WLL","direction":"sideways"}]}}`:      `(chain#1.item.ratings#1.direction): "sideways" is not a direction`,
		pointText(`"bolts":[{"size":"M13"}]`):                                                                                 `(chain#1.item.mounting.bolts#1.size): "M13" is not a size of a bolt: write one of M8, M10`,
		pointText(`"bolts":[{"property_class":8.8}]`):                                                                         `(chain#1.item.mounting.bolts#1.property_class): this is a number; write a string in quotes`,
		pointText(`"bolts":[{"count":4,"axis":"shear"}]`):                                                                     `(chain#1.item.mounting.bolts#1.axis): "shear" is not an axis of a bolt: write one of along, across, upright`,
		pointText(`"bolts":[{"count":-4}]`):                                                                                   `(chain#1.item.mounting.bolts#1.count): -4 bolts are not possible here: 1 to 64`,
		pointText(`"bolts":[{"lever_arm":40}]`):                                                                               `(chain#1.item.mounting.bolts#1.lever_arm): "40" is not a length: a bare number is refused, add one of m, mm`,
		pointText(`"engineered_for_vehicle":true`):                                                                            `(chain#1.item.mounting.engineered_for_vehicle): this is true or false; write a string in quotes`,
		pointText(`"proof_pulls":[{"level":"40kN","decay":2}]`):                                                               `(chain#1.item.mounting.proof_pulls#1.decay): 2 is not a part of the level: write 0.02 for 2 %`,
		pointText(`"proof_pulls":[{"level":"40kN","date":"yesterday"}]`):                                                      `(chain#1.item.mounting.proof_pulls#1.date): "yesterday" is not a date: write 2026-03-14`,
		pointText(`"bolt":[]`): `(chain#1.item.mounting): unknown key "bolt": the keys here are bolts, plate, chassis_member`,
		`{"item":{"name":"s","kind":"ring","mounting":{}}},` + cellText:                                       `(chain#1.item.mounting): only a point, or a mounting itself, has a mounting: "s" is of the kind “ring”`,
		`{"item":{"name":"s","kind":"ring","retired":{"reason":""}}},` + cellText:                             `(chain#1.item.retired.reason): out of service without a reason: write why`,
		`{"item":{"name":"s","kind":"ring","inspections":[{"date":"2026-01-02","result":"ok"}]}},` + cellText: `(chain#1.item.inspections#1.result): "ok" is not a result of an inspection: write one of in order, watch, unfit`,
		`{"item":{"name":"s","kind":"ring"},"seat":"bound"},` + cellText:                                      `(chain#1.seat): only a bow shackle is free or bound in its slot: leave seat out for a ring`,
		`{"item":{"name":"s","kind":"bow shackle"},"seat":"stuck"},` + cellText:                               `(chain#1.seat): "stuck" is no seat of a shackle: write free or bound`,
		`{"item":{"name":"s","kind":"bow shackle"},"seat":"free","off_axis":{}},` + cellText:                  `(chain#1.seat): a shackle that is free in its slot turns into the line`,
		`{"item":{"name":"River-1","kind":"load cell","wll":"5t"}}`:                                           `(chain#1.item): unknown key "wll": the keys here are id, name, kind, ratings`,
	} {
		_, err := rig.Decode(strings.NewReader(file(links)))
		require.Error(t, err, links)
		assert.Contains(t, err.Error(), want, links)
		assert.NotContains(t, err.Error(), "\n", "one line")
		e, ok := errors.AsType[*strict.Error](err)
		require.True(t, ok, links)
		assert.Positive(t, e.Line, "every refusal has a place: %s", links)
	}
}

func TestDecodeRefusesEnds(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		`{"pulling":{},"stuck":{"name":"O"},"chain":[` + cellText + `]}`:                                `(pulling.name): no name`,
		`{"stuck":{"name":"O"},"chain":[` + cellText + `]}`:                                             `(pulling.name): no name`,
		`{"winch_at":"left","pulling":{"name":"H"},"stuck":{"name":"O"},"chain":[` + cellText + `]}`:    `(winch_at): "left" is no end of a rig: write pulling or stuck`,
		`{"pulling":{"name":"H","gvm":"0kg"},"stuck":{"name":"O"},"chain":[` + cellText + `]}`:          `(pulling.gvm): the GVM is not above zero`,
		`{"pulling":{"name":"H","full_turn":"100deg"},"stuck":{"name":"O"},"chain":[` + cellText + `]}`: `(pulling.full_turn): the full turn of front wheels lies between 0 and 90°`,
	} {
		_, err := rig.Decode(strings.NewReader(in))
		require.ErrorContains(t, err, want)
		assert.ErrorContains(t, err, "line 1, column")
	}
}

func TestValidateSaysThatItIsARig(t *testing.T) {
	t.Parallel()
	err := of().Validate()
	require.ErrorIs(t, err, rig.ErrRig)
	assert.EqualError(t, err, "chain: the chain is empty: list the items from the pulling end to the stuck end")
	_, err = of().Places()
	require.ErrorIs(t, err, rig.ErrRig)
}

func TestDraftsNeedNotBeComplete(t *testing.T) {
	t.Parallel()
	r, err := rig.DecodeDraft(strings.NewReader(`{"name":"to be built","chain":[]}`))
	require.NoError(t, err)
	assert.Equal(t, "to be built", r.Name)
	_, err = rig.DecodeDraft(strings.NewReader(`{"nme":"x"}`))
	require.ErrorIs(t, err, strict.ErrUnknownKey)
}

// The example rigs of the manual read, solve, and read back unchanged.
func TestExampleRigs(t *testing.T) {
	t.Parallel()
	names, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		r, err := rig.Decode(bytes.NewReader(b))
		require.NoError(t, err, name)
		solves(t, r)
		roundTrip(t, r)
	}
}

// solves has every cell of a rig tell what each item carried, and both.
func solves(t *testing.T, r rig.Rig) {
	t.Helper()
	for _, c := range r.Cells() {
		_, err := r.PlacesBy(c.Name)
		require.NoError(t, err, r.Name)
	}
	if len(r.Cells()) == 2 {
		_, err := r.PlacesByBoth()
		require.NoError(t, err, r.Name)
		_, err = r.Places()
		require.ErrorContains(t, err, "which one read the peak is not said")
		return
	}
	_, err := r.Places()
	require.NoError(t, err, r.Name)
}

func roundTrip(t *testing.T, r rig.Rig) {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, rig.Encode(&out, r))
	back, err := rig.DecodeDraft(&out)
	require.NoError(t, err)
	require.Equal(t, r, back)
}

func TestEncodeKeepsEverything(t *testing.T) {
	t.Parallel()
	two, loss, len9, turn := 2.5, 0.1, unit.Length(9), unit.Degrees(33.7)
	mass, k := unit.Mass(3.5), unit.Stiffness(60000)
	full := item("strap <9 m> & more", gear.RecoveryStrap)
	full.Item = gear.Item{ID: "s9", Name: full.Item.Name, Kind: gear.RecoveryStrap, Vehicle: "Heron", Where: "rear", Length: &len9, Mass: &mass,
		Stiffness: &k, Maker: "m", Serial: "1", Made: "2024", Inspected: "2026-01-02", Notes: "n",
		Ratings: []gear.Rating{{Value: 8 * unit.TonneForce, Basis: gear.MBS, DesignFactor: &two, FactorFrom: gear.FactorOwner,
			Direction: gear.Within(unit.Angle(0.1234567890123)), Together: gear.Pair, Stamp: "8 t"}}}
	years, pulls, hold := 5.0, 100, 60.0
	full.Item.Life = gear.Life{RetireRule: &gear.RetireRule{MaxAge: &years, MaxPulls: &pulls, MaxPeak: &loss, By: "2030", Notes: "n"}, InspectEvery: &pulls,
		Inspections: []gear.Inspection{{Date: "2026-03", Who: "w", Result: gear.Watch, Notes: "n", Photos: []string{"a.jpg"}}},
		Quarantined: &gear.Withdrawal{Date: "2026-03-14", Reason: "r", Who: "w"}, Retired: &gear.Withdrawal{Reason: "r"}}
	thick := unit.Length(0.0123456789)
	held := gear.Item{Name: "p", Kind: gear.RecoveryPoint, Fixing: &gear.Fixing{Member: "rail", Engineered: gear.Yes, Tested: gear.No,
		Bolts: []gear.Bolts{{Count: 4, Size: "M12", Class: "8.8", Pitch: &thick, Plane: gear.ThroughShank, Axis: gear.Upright, Lever: &thick, Rows: &thick,
			Hole: &thick, End: &thick, Edge: &thick, Spacing: &thick, Gauge: &thick}},
		Plate:  &gear.Plate{Thickness: &thick, Steel: "S355"},
		Proofs: []gear.ProofPull{{Level: 40e3, Hold: &hold, Decay: &loss, Set: &thick, Date: "2026", Pull: "12", Notes: "n"}}}}
	bound := item("s", gear.BowShackle)
	bound.Seat = rig.BoundSeat
	full.OffAxis = &rig.OffAxis{Horizontal: &turn, Vertical: &turn}
	b := bridle(60, true)
	b.Bridle.Strap, b.Bridle.OffAxis = &full, full.OffAxis
	tk := tackle(3, &loss)
	r := of(cell, redirect(45, &loss), rig.InLine(held), rig.Link{Use: &bound}, tk, b)
	r.Name, r.ID, r.Notes, r.WinchAt = "n", "id", "notes", rig.StuckEnd
	r.Pulling.FullTurn, r.Pulling.GVM, r.Pulling.Weighed, r.Pulling.Wheelbase = &turn, &mass, &mass, &len9
	roundTrip(t, r)
}

// Whatever is accepted can be solved, written and read back.
func FuzzDecode(f *testing.F) {
	names, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(f, err)
	for _, name := range names {
		b, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(b)
	}
	f.Add([]byte(file(cellText)))
	f.Add([]byte(file(cellText + `,{"item":{"name":"River-2","kind":"load cell"}}`)))
	f.Add([]byte(file(`{"tackle":{"parts":2,"fall":[` + cellText + `],"sheaves":[[]]}}`)))
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := rig.Decode(bytes.NewReader(in))
		if err != nil {
			return
		}
		solves(t, r)
		r.Remarks()
		r.Runs()
		roundTrip(t, r)
	})
}
