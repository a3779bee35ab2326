package strict_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/strict"
	"tautlog/calc/unit"
)

type leaf struct {
	Force  unit.Force  `json:"force"`
	Factor *float64    `json:"factor,omitempty"`
	Count  int         `json:"count"`
	Angle  *unit.Angle `json:"angle"`
}

// Inner is embedded, which encoding/json allows of exported types only.
type Inner struct {
	Item leaf `json:"item"`
}

type doc struct {
	Name string `json:"name"`
	On   bool   `json:"on"`
	*Inner
	List []leaf `json:"list"`
}

func TestReads(t *testing.T) {
	t.Parallel()
	var d doc
	where, err := strict.Decode(strings.NewReader("\xef\xbb\xbf"+`{"name":"x","on":true,
 "item":{"force":"2kN","factor":2.5,"count":3},
 "list":[{"force":"1t","angle":null}]}`), &d)
	require.NoError(t, err)
	assert.Equal(t, "x", d.Name)
	assert.True(t, d.On)
	assert.Equal(t, unit.Force(2000), d.Item.Force)
	assert.InDelta(t, 2.5, *d.Item.Factor, 0)
	assert.Equal(t, unit.TonneForce, d.List[0].Force)
	assert.Nil(t, d.List[0].Angle)

	assert.EqualError(t, where.Error("list#1.force", "too much", nil), "line 3, column 19 (list#1.force): too much")
	assert.EqualError(t, where.Error("list#1.none", "missing", nil), "line 3, column 10 (list#1.none): missing",
		"the nearest value around one that is not there")
}

func TestRefuses(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]struct {
		reason error
		text   string
	}{
		"":                                 {strict.ErrEmpty, "the file is empty: write a JSON document"},
		" \n":                              {strict.ErrEmpty, "the file is empty: write a JSON document"},
		"{\n\"nme\":\"x\"}":                {strict.ErrUnknownKey, `line 2, column 1: unknown key "nme": the keys here are name, on, item, list`},
		`{"Name":"x"}`:                     {strict.ErrUnknownKey, `line 1, column 2: unknown key "Name": the keys here are name, on, item, list`},
		`{"name":"x","name":"y"}`:          {strict.ErrRepeatedKey, `line 1, column 13: key "name" stands here twice: keep one`},
		`{"name":5}`:                       {strict.ErrType, `line 1, column 9 (name): this is a number; write a string in quotes`},
		`{"name":null}`:                    {strict.ErrType, `line 1, column 9 (name): null stands for nothing here: leave the key out, or give a value`},
		`{"on":"yes"}`:                     {strict.ErrType, `line 1, column 7 (on): this is a string; write true or false`},
		`{"item":[]}`:                      {strict.ErrType, `line 1, column 9 (item): this is a list; write an object in { }`},
		`{"list":{}}`:                      {strict.ErrType, `line 1, column 9 (list): this is an object; write a list in [ ]`},
		`{"item":{"count":1.5}}`:           {strict.ErrType, `line 1, column 18 (item.count): this is a number; write a whole number`},
		`{"item":{"factor":1e999}}`:        {strict.ErrType, `line 1, column 19 (item.factor): this is a number; write a number`},
		`{"item":{"force":true}}`:          {strict.ErrType, `line 1, column 18 (item.force): this is true or false; write a string in quotes`},
		`[]`:                               {strict.ErrType, `line 1, column 1: this is a list; write an object in { }`},
		`{"name":"x"} {}`:                  {strict.ErrSyntax, `line 1, column 15: there is more text after the end of the document: remove it`},
		"{\"name\":\"x\",\n\n":             {strict.ErrSyntax, `line 3, column 1: the text ends in the middle: a bracket or quote is not closed`},
		`{"name":"x`:                       {strict.ErrSyntax, `line 1, column 11: the text ends in the middle: a bracket or quote is not closed`},
		strings.Repeat("[", 100):           {strict.ErrSyntax, `line 1, column 65: brackets are nested too deep`},
		"{\"list\":[{},\n{\"force\": 5}]}": {unit.ErrNoUnit, `line 2, column 11 (list#2.force): "5" is not a force: a bare number is refused, add one of kN, N, MN, kgf, t, tf, lbf, daN (for example "5kN")`},
		`{"item":{"force":"5 stone"}}`:     {unit.ErrUnknownUnit, `line 1, column 18 (item.force): "5 stone" is not a force: unknown unit, use one of kN, N, MN, kgf, t, tf, lbf, daN`},
	} {
		d := doc{Name: "old"}
		_, err := strict.Decode(strings.NewReader(in), &d)
		require.ErrorIs(t, err, want.reason, in)
		require.EqualError(t, err, want.text, in)
		assert.Equal(t, doc{Name: "old"}, d, "a refused document changes nothing")
	}
}

func TestSyntaxErrorsHaveAPlace(t *testing.T) {
	t.Parallel()
	for _, in := range []string{"{\n  name: 1}", "{\n  \"name\" 1}", "{\n  \"list\": [1,,2]}", "{\n \"name\": 'x'}", "{\n\x00\xff}"} {
		_, err := strict.Decode(strings.NewReader(in), &doc{})
		require.ErrorIs(t, err, strict.ErrSyntax, in)
		e, ok := errors.AsType[*strict.Error](err)
		require.True(t, ok)
		assert.Equal(t, 2, e.Line, in)
	}
}

func TestTooLarge(t *testing.T) {
	t.Parallel()
	_, err := strict.Decode(strings.NewReader(strings.Repeat(" ", strict.MaxBytes+1)), &doc{})
	require.ErrorIs(t, err, strict.ErrTooLarge)
}

// Whatever is accepted is also what encoding/json reads, and reads back.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"name":"x","on":true,"item":{"force":"2kN","factor":2.5,"count":3},"list":[{"force":"1t","angle":null}]}`))
	f.Add([]byte(`{"name":`))
	f.Add([]byte(`[[[[`))
	f.Add([]byte(`{"a":1}x`))
	f.Fuzz(func(t *testing.T, in []byte) {
		var d, back doc
		if _, err := strict.Decode(strings.NewReader(string(in)), &d); err != nil {
			if e, ok := errors.AsType[*strict.Error](err); ok && e.Line < 0 {
				t.Fatalf("no place in %v", e)
			}
			return
		}
		b, err := json.Marshal(d)
		require.NoError(t, err)
		_, err = strict.Decode(strings.NewReader(string(b)), &back)
		require.NoError(t, err, string(b))
		require.Equal(t, d, back)
	})
}
