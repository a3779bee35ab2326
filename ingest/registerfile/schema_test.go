package registerfile

import (
	"encoding"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

var update = flag.Bool("update", false, "write register.schema.json")

// described are the types whose text or words have a form of their own.
var described = map[reflect.Type]map[string]any{
	reflect.TypeFor[unit.Force]():     quantity("a force, as 4.75t, 46.6kN or 9500lbf"),
	reflect.TypeFor[unit.Mass]():      quantity("a mass, as 3.1t or 2800kg"),
	reflect.TypeFor[unit.Length]():    quantity("a length, as 9m or 16mm"),
	reflect.TypeFor[unit.Angle]():     quantity("an angle, as 60deg"),
	reflect.TypeFor[unit.Stiffness](): quantity("a force per stretch, as 60kN/m"),
	reflect.TypeFor[gear.Date]():      {"type": "string", "description": "a day, or a month or year where no more is known", "pattern": `^([0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?)?$`},
	reflect.TypeFor[gear.Direction](): {"type": "string", "description": "straight only; up to 30deg; full turn of the front wheels; any direction; side load steps"},
	reflect.TypeFor[gear.Kind]():      inWords("", gear.Kinds()),
	reflect.TypeFor[gear.Basis]():     inWords("what the number means", gear.Bases()),
	reflect.TypeFor[gear.Finding]():   inWords("what came out", []gear.Finding{gear.InOrder, gear.Watch, gear.Unfit}),
	reflect.TypeFor[gear.Together]():  inWords("of one item, or of a pair together", []gear.Together{"", gear.Alone, gear.Pair}),
}

// needed are the keys that a register is refused without.
var needed = map[reflect.Type][]string{
	reflect.TypeFor[gear.Vehicle]():    {"name"},
	reflect.TypeFor[gear.Item]():       {"name", "kind"},
	reflect.TypeFor[gear.Rating]():     {"value", "basis"},
	reflect.TypeFor[gear.Inspection](): {"date", "result"},
	reflect.TypeFor[gear.Withdrawal](): {"reason"},
	reflect.TypeFor[rig.Rig]():         {"name"},
}

func quantity(says string) map[string]any {
	return map[string]any{"type": "string", "description": says + ": a number with its unit", "pattern": `^\s*[-+]?[0-9.]`}
}

func inWords[T ~string](says string, of []T) map[string]any {
	out := map[string]any{"type": "string", "enum": of}
	if says != "" {
		out["description"] = says
	}
	return out
}

// schema describes a type as the strict reader takes it.
func schema(t reflect.Type, defs map[string]any) map[string]any {
	if t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		inner := map[string]any{}
		if t.Kind() == reflect.Pointer {
			inner = schema(t.Elem(), defs)
		} else {
			inner["type"], inner["items"] = "array", schema(t.Elem(), defs)
		}
		return map[string]any{"anyOf": []any{inner, map[string]any{"type": "null"}}}
	}
	if d, ok := described[t]; ok {
		defs[t.Name()] = d
		return map[string]any{"$ref": "#/$defs/" + t.Name()}
	}
	if _, ok := reflect.New(t).Interface().(encoding.TextUnmarshaler); ok || t.Kind() == reflect.String {
		return map[string]any{"type": "string"}
	}
	switch t.Kind() {
	case reflect.Int:
		return map[string]any{"type": "integer"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	}
	if _, ok := defs[t.Name()]; !ok {
		defs[t.Name()] = object(t, defs)
	}
	return map[string]any{"$ref": "#/$defs/" + t.Name()}
}

func object(t reflect.Type, defs map[string]any) map[string]any {
	properties := map[string]any{}
	for _, f := range reflect.VisibleFields(t) {
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if key != "" && key != "-" {
			properties[key] = schema(f.Type, defs)
		}
	}
	out := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	if keys := needed[t]; keys != nil {
		out["required"] = keys
	}
	return out
}

// TestSchemaIsThatOfTheTypes: -update writes it after a key was added.
func TestSchemaIsThatOfTheTypes(t *testing.T) {
	t.Parallel()
	defs := map[string]any{}
	doc := object(reflect.TypeFor[Register](), defs)
	doc["$schema"], doc["$defs"] = "https://json-schema.org/draft/2020-12/schema", defs
	doc["title"] = "A register of vehicles, gear and rigs, as tautlog import reads it and tautlog export writes it"
	text, err := json.MarshalIndent(doc, "", "  ")
	require.NoError(t, err)
	if *update {
		require.NoError(t, os.WriteFile("register.schema.json", append(text, '\n'), 0o644))
	}
	require.True(t, string(text)+"\n" == Schema, "it is not that of the types; run: go test ./ingest/registerfile -run Schema -update")
}

func compiled(t require.TestingT) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(Schema))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	require.NoError(t, c.AddResource("urn:register", doc))
	s, err := c.Compile("urn:register")
	require.NoError(t, err)
	return s
}

func valid(t require.TestingT, s *jsonschema.Schema, text string) error {
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	require.NoError(t, err)
	return s.Validate(v)
}

// TestSchemaAndReaderRefuseTheSame: a general library, by the schema alone,
// and the reader are of one mind.
func TestSchemaAndReaderRefuseTheSame(t *testing.T) {
	t.Parallel()
	s := compiled(t)
	for text, good := range map[string]bool{
		`{}`: true,
		`{"items": [{"name": "strap", "kind": "recovery strap", "ratings": [{"value": "11t", "basis": "MBS"}], "length": "9m", "mass": null}]}`: true,
		`{"vehicles": [{"name": "Mule", "gvm": "3.2t", "full_turn": "35deg"}]}`:                                                                 true,
		`{"items": [{"name": "strap", "kind": "strap"}]}`:                                                                                       false,
		`{"items": [{"kind": "ring"}]}`: false,
		`{"items": [{"name": "ring", "kind": "ring", "ratings": [{"value": "11t"}]}]}`:              false,
		`{"items": [{"name": "ring", "kind": "ring", "ratings": [{"value": 11, "basis": "MBS"}]}]}`: false,
		`{"items": [{"name": "ring", "kind": "ring", "colour": "red"}]}`:                            false,
		`{"items": [{"name": "ring", "kind": "ring", "inspect_every_months": 1.5}]}`:                false,
		`{"items": [{"name": "ring", "kind": "ring", "quarantined": {"date": "2026"}}]}`:            false,
		`{"items": [{"name": "ring", "kind": "ring", "retire_rule": {"by": "1 May"}}]}`:             false,
		`{"rigs": [{"pulling": {"name": "a"}}]}`:                                                    false,
		`{"gear": []}`:                                                                              false,
	} {
		_, err := Decode(strings.NewReader(text))
		require.Equal(t, good, err == nil, "%s: %v", text, err)
		require.Equal(t, good, valid(t, s, text) == nil, "%s: %v", text, valid(t, s, text))
	}
}
