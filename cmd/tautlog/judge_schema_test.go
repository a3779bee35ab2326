package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// schemaOf compiles a schema document.
func schemaOf(t *testing.T, doc any) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("urn:tautlog:judge", doc))
	s, err := c.Compile("urn:tautlog:judge")
	require.NoError(t, err)
	return s
}

func parsed(t *testing.T, text string) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	require.NoError(t, err)
	return v
}

// closed forbids, in every object that a schema describes, keys that it does
// not describe: so that a key cannot be added without its description.
func closed(v any) {
	switch v := v.(type) {
	case map[string]any:
		if _, ok := v["properties"]; ok {
			v["additionalProperties"] = false
		}
		for _, w := range v {
			closed(w)
		}
	case []any:
		for _, w := range v {
			closed(w)
		}
	}
}

// judgeDocuments is what the command writes for the example rigs.
func judgeDocuments(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	trace := halfSine(t, 41)
	rigs, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, rigs)
	for _, rig := range rigs {
		var doc, errs bytes.Buffer
		args := []string{"judge", trace, "--rig", rig, "--json", "--on", "2026-11-25"}
		if filepath.Base(rig) == "two-cells.json" {
			args = append(args, "--cell", "River-1", "--second", halfSine(t, 30))
		}
		require.Equal(t, 0, run(context.Background(), args, nil, &doc, &errs), errs.String())
		out[rig] = doc.String()
	}
	return out
}

// What the command writes is what its schema describes, key by key, and the
// published schema is a schema.
func TestJudgeWritesWhatItsSchemaSays(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	require.Equal(t, 0, run(context.Background(), []string{"judge", "--schema"}, nil, &out, &out))
	open, strict := parsed(t, out.String()), parsed(t, out.String())
	closed(strict)
	for name, doc := range judgeDocuments(t) {
		assert.NoError(t, schemaOf(t, open).Validate(parsed(t, doc)), name)
		assert.NoError(t, schemaOf(t, strict).Validate(parsed(t, doc)), "%s: a key without a description", name)
	}
}

// The schema refuses what a reader must not get: it is no empty promise.
func TestJudgeSchemaRefuses(t *testing.T) {
	t.Parallel()
	schema, documents := schemaOf(t, parsed(t, judgeSchema)), judgeDocuments(t)
	for name, spoil := range map[string]func(doc map[string]any){
		"no cautions":          func(doc map[string]any) { delete(doc, "cautions") },
		"another verdict":      func(doc map[string]any) { pullOf(doc)["verdict"] = "fine" },
		"a force with a unit":  func(doc map[string]any) { pullOf(doc)["peak_N"] = "41 kN" },
		"no interval":          func(doc map[string]any) { delete(pullOf(doc), "peak_high_N") },
		"a limit left out":     func(doc map[string]any) { delete(itemOf(doc), "limit_N") },
		"a verdict on nothing": func(doc map[string]any) { delete(itemOf(doc), "reason") },
	} {
		for rig, text := range documents {
			var doc map[string]any
			require.NoError(t, json.Unmarshal([]byte(text), &doc))
			require.NoError(t, schema.Validate(doc), rig)
			spoil(doc)
			assert.Error(t, schema.Validate(doc), "%s, %s", name, rig)
		}
	}
}

func pullOf(doc map[string]any) map[string]any {
	return doc["pulls"].([]any)[0].(map[string]any)
}

func itemOf(doc map[string]any) map[string]any {
	return pullOf(doc)["items"].([]any)[0].(map[string]any)
}
