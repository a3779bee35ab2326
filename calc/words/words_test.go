package words

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTextsAreWellFormed(t *testing.T) {
	for name, f := range english {
		require.Contains(t, f, other, name)
		want, err := verbs(f[other])
		require.NoError(t, err, name)
		for form, say := range f {
			got, err := verbs(say)
			require.NoError(t, err, name)
			assert.Contains(t, []string{"one", other}, form, "%s: English has no other forms (CLDR, cardinals of en)", name)
			assert.True(t, takes(say, got, want, len(f) > 1), "%s: form %s", name, form)
		}
		if len(f) > 1 {
			assert.Equal(t, byte('d'), want[0], "%s: what is counted is its first argument", name)
		}
	}
}

func TestCountChoosesTheForm(t *testing.T) {
	defer inUse.Store(inUse.Load())
	english["test.pulls"] = forms{"one": "One pull of 100 %%", other: "%d pulls of %s"}
	defer delete(english, "test.pulls")
	assert.Equal(t, "One pull of 100 %", Count("test.pulls", 1, "Heron"))
	assert.Equal(t, "0 pulls of Heron", Count("test.pulls", 0, "Heron"))
	assert.Equal(t, "21 pulls of Heron", Count("test.pulls", 21, "Heron"))
	assert.Equal(t, "783,730 pulls of Heron", Count("test.pulls", 783730, "Heron"))
	assert.Equal(t, "1,222", fmt.Sprint(Number(1222)))

	// forms of Polish: 1 one, 2 to 4 few, 5 many (CLDR 32, cardinals of pl)
	say := `{"language":"pl","texts":{"test.pulls":{"one":"jeden","few":"%d few %s","many":"%d many %s","other":"%d other %s"}}}`
	require.NoError(t, Use(strings.NewReader(say)))
	assert.Equal(t, "pl", Language())
	for n, want := range map[int]string{1: "jeden", 2: "2 few x", 5: "5 many x", 12: "12 many x", 22: "22 few x"} {
		assert.Equal(t, want, Count("test.pulls", n, "x"))
	}
}

func TestTranslation(t *testing.T) {
	defer inUse.Store(inUse.Load())
	english["test.lost"] = forms{other: "%s lost %d %%"}
	english["test.kept"] = forms{other: "kept: %w"}
	defer delete(english, "test.lost")
	english["test.many"] = forms{"one": "one pull of %[2]s", other: "%d pulls of %s"}
	defer delete(english, "test.kept")
	defer delete(english, "test.many")

	require.NoError(t, Use(strings.NewReader(`{"language":"de","texts":{"test.lost":"%[2]d %% verlor %[1]s"}}`)))
	assert.Equal(t, "5 % verlor Heron", Say("test.lost", "Heron", 5))
	err := Error("test.kept", fs.ErrNotExist) // no translation: English
	assert.ErrorIs(t, err, fs.ErrNotExist)
	assert.Equal(t, "kept: "+fs.ErrNotExist.Error(), err.Error())

	require.NoError(t, Use(strings.NewReader(`{"language":"de","texts":{"test.many":{"one":"ein Zug von %[2]s","other":"%d %s"}}}`)))
	assert.Equal(t, "ein Zug von Heron", Count("test.many", 1, "Heron"))

	for _, c := range []struct{ doc, why string }{
		{`{"language":"de","texts":{"test.gone":"x"}}`, "no text of that name"},
		{`{"language":"de","texts":{"test.lost":"%s"}}`, "does not take what the English text takes"},
		{`{"language":"de","texts":{"test.lost":"%d %s"}}`, "does not take what the English text takes"},
		{`{"language":"de","texts":{"test.lost":"%s %d %"}}`, "says nothing"},
		{`{"language":"de","texts":{"test.lost":"%[x]s %d"}}`, "%[2]s"},
		{`{"language":"de","texts":{"test.lost":{"one":"%s %d","other":"%s %d"}}}`, "counts nothing"},
		{`{"language":"de","texts":{"test.lost":{"one":"x"}}}`, `"other" is needed`},
		{`{"language":"de","texts":{"test.many":{"one":"ein Zug von %s","other":"%d %s"}}}`, "does not take"},
		{`{"language":"de","texts":{"test.many":{"three":"x","other":"%d %s"}}}`, "no form of a plural"},
		{`{"language":"--","texts":{}}`, "no tag of a language"},
		{`{"lang":"de"}`, "cannot be read"},
		{`{`, "cannot be read"},
	} {
		before := inUse.Load()
		assert.ErrorContains(t, Use(strings.NewReader(c.doc)), c.why)
		assert.Same(t, before, inUse.Load(), "a refused document changes nothing")
	}
}

func TestWhatIsWrittenCanBeUsed(t *testing.T) {
	defer inUse.Store(inUse.Load())
	var b bytes.Buffer
	require.NoError(t, Write(&b))
	require.NoError(t, Use(bytes.NewReader(b.Bytes())))
	var again bytes.Buffer
	require.NoError(t, Write(&again))
	assert.Equal(t, b.String(), again.String())
	assert.Len(t, inUse.Load().texts, len(names()))
}

func TestUnknownNamesPanic(t *testing.T) {
	assert.PanicsWithValue(t, "words: no text test.none", func() { Say("test.none") })
	assert.False(t, Known("test.none"))
}

func FuzzUse(f *testing.F) {
	f.Add([]byte(`{"language":"de","texts":{"pull.title":"Zug %d"}}`))
	f.Add([]byte(`{"language":"de","texts":{"pull.title":"Zug %[1]d %"}}`))
	before := inUse.Load()
	f.Fuzz(func(t *testing.T, doc []byte) {
		defer inUse.Store(before)
		if err := Use(bytes.NewReader(doc)); err != nil {
			return
		}
		for name, say := range inUse.Load().texts { // what was taken can be said
			args := argumentsOf(t, english[name][other])
			var said string
			if len(english[name]) > 1 {
				said = Count(name, 2, args[1:]...)
			} else {
				said = Say(name, args...)
			}
			assert.NotRegexp(t, `%!.?\((BADINDEX|MISSING|NOVERB|BADWIDTH|BADPREC|[a-z]+=)`, said, "%v", say)
		}
	})
}

// argumentsOf makes arguments that a format takes.
func argumentsOf(t *testing.T, format string) []any {
	t.Helper()
	want, err := verbs(format)
	require.NoError(t, err)
	out := make([]any, len(want))
	for i, verb := range want {
		switch verb {
		case 'd', 'x':
			out[i] = 3
		case 'f', 'g':
			out[i] = 1.5
		case 'w':
			out[i] = errors.New("x")
		default:
			out[i] = "x"
		}
	}
	return out
}
