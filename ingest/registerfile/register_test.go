package registerfile

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/strict"
	"tautlog/calc/unit"
)

// examples are the rigs that the project shows.
func examples(t *testing.T) (out []rig.Rig) {
	t.Helper()
	files, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		r, err := rig.DecodeDraft(bytes.NewReader(text))
		require.NoError(t, err, file)
		out = append(out, r)
	}
	require.NotEmpty(t, out)
	return out
}

// texts are what tables are bad at.
var texts = rapid.OneOf(
	rapid.SampledFrom([]string{"", "", "", "strap", " blue", "red ", `"so called"`, `"`, "a,b;c\td", "two\nlines", "two\r\nlines", "\r", "#5", "äöü €", "12", "1,5", "null", "true", "{}", "<&>", "\u2028", "=1+1", "'=1", "+49 1", "-5", "@x", "'"}),
	rapid.String(),
)

func name() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		return texts.Filter(func(s string) bool { return strings.TrimSpace(s) != "" }).Draw(t, "name")
	})
}

func amount[T ~float64]() *rapid.Generator[*T] {
	return rapid.Ptr(rapid.Custom(func(t *rapid.T) T { return T(rapid.Float64Range(1e-9, 1e9).Draw(t, "amount")) }), true)
}

var dates = rapid.SampledFrom([]gear.Date{"", "2026", "2026-05", "2026-05-09"})

func ratings() *rapid.Generator[[]gear.Rating] {
	one := rapid.Custom(func(t *rapid.T) gear.Rating {
		r := gear.Rating{
			Value: unit.Force(rapid.Float64Range(1e-3, 1e7).Draw(t, "value")), Basis: rapid.SampledFrom(gear.Bases()).Draw(t, "basis"),
			Direction: rapid.SampledFrom([]gear.Direction{{}, gear.Straight(), gear.Within(1.0 / 3), {Rule: gear.FullTurn}, {Rule: gear.SideLoadSteps}}).Draw(t, "direction"),
			Together:  rapid.SampledFrom([]gear.Together{"", gear.Alone, gear.Pair}).Draw(t, "together"), Stamp: texts.Draw(t, "stamp"),
		}
		if r.Basis == gear.MBS && rapid.Bool().Draw(t, "has a factor") {
			f := rapid.Float64Range(1, 10).Draw(t, "factor")
			r.DesignFactor, r.FactorFrom = &f, gear.FactorOwner
		}
		return r
	})
	return rapid.Custom(func(t *rapid.T) []gear.Rating { return some(rapid.SliceOfN(one, 0, 3).Draw(t, "ratings")) })
}

// some is nil for an empty list, as everywhere in a register.
func some[T any](l []T) []T {
	if len(l) == 0 {
		return nil
	}
	return l
}

func lives() *rapid.Generator[gear.Life] {
	inspection := rapid.Custom(func(t *rapid.T) gear.Inspection {
		return gear.Inspection{
			Date: "2026-05", Who: texts.Draw(t, "who"), Result: rapid.SampledFrom([]gear.Finding{gear.InOrder, gear.Watch, gear.Unfit}).Draw(t, "result"),
			Notes: texts.Draw(t, "notes"), Photos: some(rapid.SliceOfN(texts, 0, 2).Draw(t, "photos")),
		}
	})
	return rapid.Custom(func(t *rapid.T) gear.Life {
		l := gear.Life{Inspections: some(rapid.SliceOfN(inspection, 0, 2).Draw(t, "inspections"))}
		if rapid.Bool().Draw(t, "has a rule") {
			l.RetireRule = &gear.RetireRule{MaxAge: amount[float64]().Draw(t, "age"), By: dates.Draw(t, "by"), Notes: texts.Draw(t, "rule")}
		}
		if rapid.Bool().Draw(t, "is out") {
			l.Quarantined = &gear.Withdrawal{Date: dates.Draw(t, "out"), Reason: name().Draw(t, "reason")}
		}
		l.InspectEvery = rapid.Ptr(rapid.IntRange(1, 99), true).Draw(t, "every")
		return l
	})
}

func items(rigs []rig.Rig) *rapid.Generator[gear.Item] {
	var held []*gear.Fixing
	for _, r := range rigs {
		for _, u := range r.Uses() {
			if u.Item.Fixing != nil {
				held = append(held, u.Item.Fixing)
			}
		}
	}
	return rapid.Custom(func(t *rapid.T) gear.Item {
		it := gear.Item{
			ID: texts.Draw(t, "id"), Name: name().Draw(t, "name"), Kind: rapid.SampledFrom(gear.Kinds()).Draw(t, "kind"), Ratings: ratings().Draw(t, "ratings"),
			Vehicle: texts.Draw(t, "vehicle"), Length: amount[unit.Length]().Draw(t, "length"), Mass: amount[unit.Mass]().Draw(t, "mass"),
			Stiffness: amount[unit.Stiffness]().Draw(t, "stiffness"), Maker: texts.Draw(t, "maker"), Serial: texts.Draw(t, "serial"),
			Made: texts.Draw(t, "made"), Life: lives().Draw(t, "life"), Notes: texts.Draw(t, "notes"),
		}
		if it.Kind == gear.RecoveryPoint && len(held) > 0 {
			it.Fixing = rapid.SampledFrom(held).Draw(t, "mounting")
		}
		return it
	})
}

func vehicles() *rapid.Generator[gear.Vehicle] {
	return rapid.Custom(func(t *rapid.T) gear.Vehicle {
		v := gear.Vehicle{ID: texts.Draw(t, "id"), Name: name().Draw(t, "name"), GVM: amount[unit.Mass]().Draw(t, "gvm"), Weighed: amount[unit.Mass]().Draw(t, "weighed"), Notes: texts.Draw(t, "notes")}
		part := rapid.Float64Range(0.001, 0.9)
		if v.Weighed != nil {
			v.WeighedWithin = share(*v.Weighed, part.Draw(t, "within"))
		}
		if v.GVM != nil {
			v.Kerb = share(*v.GVM, part.Draw(t, "kerb"))
		}
		return v
	})
}

// share is so large a part of a mass; nil where that is nothing, or the whole, by
// how numbers are kept.
func share(of unit.Mass, part float64) *unit.Mass {
	m := unit.Mass(part * float64(of))
	if !(m > 0 && m < of) {
		return nil
	}
	return &m
}

func distinct[T any](of *rapid.Generator[T]) *rapid.Generator[[]T] {
	return rapid.Custom(func(t *rapid.T) []T {
		return some(rapid.SliceOfNDistinct(of, 0, 4, func(v T) string { key, _ := entry(v); return key }).Draw(t, "list"))
	})
}

// TestWhatIsWrittenIsReadBackTheSame in both forms, to the last bit, and the
// JSON is as the schema says.
func TestWhatIsWrittenIsReadBackTheSame(t *testing.T) {
	t.Parallel()
	rigs := examples(t)
	s := compiled(t)
	rapid.Check(t, func(t *rapid.T) {
		reg := Register{
			Vehicles: distinct(vehicles()).Draw(t, "vehicles"), Items: distinct(items(rigs)).Draw(t, "items"),
			Rigs: distinct(rapid.SampledFrom(rigs)).Draw(t, "rigs"),
		}
		var b bytes.Buffer
		require.NoError(t, Encode(&b, reg))
		text := b.String()
		require.NoError(t, valid(t, s, text))
		again, err := Decode(&b)
		require.NoError(t, err)
		require.Equal(t, reg, again)
		inTables(t, reg.Vehicles)
		inTables(t, reg.Items)
		inTables(t, reg.Rigs)
	})
}

func inTables[T any](t *rapid.T, values []T) {
	if len(values) == 0 {
		return
	}
	var b bytes.Buffer
	require.NoError(t, WriteTable(&b, values))
	text := b.String()
	again, err := ReadTable[T](&b)
	require.NoError(t, err, text)
	require.Equal(t, values, again, text)
}

// TestEveryKeyOfAnItemHasAColumn: none is lost in a table.
func TestEveryKeyOfAnItemHasAColumn(t *testing.T) {
	t.Parallel()
	var keys []string
	for _, c := range columnsOf(reflect.TypeFor[gear.Item]()) {
		keys = append(keys, c.key)
	}
	var doc map[string]any
	full := gear.Item{ID: "i", Name: "n", Kind: gear.Ring, Vehicle: "v", Where: "w", Maker: "m", Serial: "s", Made: "2026", Inspected: "2026", Notes: "o"}
	full.Ratings, full.Fixing = []gear.Rating{{Value: 1, Basis: gear.MBS}}, &gear.Fixing{Member: "rail"}
	require.NoError(t, reread(full, &doc))
	for key := range doc {
		require.Contains(t, keys, key)
	}
}

func TestATableByHand(t *testing.T) {
	t.Parallel()
	got, err := ReadTable[gear.Item](strings.NewReader(`# the unit's gear
kind;name;id;rating_2_value;rating_2_basis;rating_1_value;rating_1_basis;length;inspect_every_months;inspections
recovery strap;blue strap;s1;;;11 t;MBS;9m;12;"[{""date"": ""2026-05"", ""result"": ""in order""}]"
bow shackle;shackle;k1;28.5t;MBS;4.75t;WLL;;;
`))
	require.NoError(t, err)
	length, every := unit.Length(9), 12
	strap := gear.Item{ID: "s1", Name: "blue strap", Kind: gear.RecoveryStrap, Length: &length, Ratings: []gear.Rating{{Value: 11 * unit.TonneForce, Basis: gear.MBS}}}
	strap.InspectEvery, strap.Inspections = &every, []gear.Inspection{{Date: "2026-05", Result: gear.InOrder}}
	shackle := gear.Item{ID: "k1", Name: "shackle", Kind: gear.BowShackle}
	shackle.Ratings = []gear.Rating{{Value: 4.75 * unit.TonneForce, Basis: gear.WLL}, {Value: 28.5 * unit.TonneForce, Basis: gear.MBS}}
	require.Equal(t, []gear.Item{strap, shackle}, got)
}

func TestFaultsHaveLineAndColumn(t *testing.T) {
	t.Parallel()
	const head = "id,name,kind,rating_1_value,rating_1_basis,rating_2_value,rating_2_basis,mounting,inspect_every_months\n"
	for text, want := range map[string]string{
		head + "s1,strap,ring,11t,MBS,,,,\ns2,strap,rign,,,,,,\n":    `line 3: column kind: `,
		head + "s1,strap,ring,11,MBS,,,,\n":                          `line 2: column rating_1_value: `,
		head + "s1,strap,ring,,,11t,mbs,,\n":                         `line 2: column rating_2_basis: `,
		head + "s1,strap,ring,11t,,,,,\n":                            `line 2: column rating_1_basis: the rating has no basis`,
		head + "s1,strap,ring,,,,,{,\n":                              `line 2: column mounting: this is not JSON`,
		head + "p1,point,recovery point,,,,,\"{\"\"bolt\"\":1}\",\n": `line 2: column mounting: unknown key "bolt"`,
		head + "s1,strap,ring,,,,,,often\n":                          `line 2: column inspect_every_months: "often" is no number`,
		head + "s1,,ring,,,,,,\n":                                    `line 2: column name: the item has no name`,
		head + "s1,strap,ring,,,,,,\ns1,belt,ring,,,,,,\n":           `line 3: "s1" stands here a second time, first as number 1`,
		head + "s1,strap\n":                                          `line 2: `,
		"name,colour\nstrap,red\n":                                   `line 1: there is no column "colour": the columns are id, name, kind, rating_1_value, `,
		"name,rating_01_value\nstrap,1t\n":                           `line 1: there is no column "rating_01_value"`,
	} {
		_, err := ReadTable[gear.Item](strings.NewReader(text))
		require.ErrorContains(t, err, want)
		var fault *strict.Error
		require.ErrorAs(t, err, &fault)
	}
	_, err := Decode(strings.NewReader("{\"items\": [\n {\"name\": \"a\", \"kind\": \"ring\"},\n {\"name\": \"a\", \"kind\": \"ring\"}]}"))
	require.ErrorIs(t, err, ErrTwice)
	require.ErrorContains(t, err, "line 3, column 2 (items#2)")
}
