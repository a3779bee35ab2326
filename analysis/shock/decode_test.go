package shock_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/strict"
)

const head = "day,kind,ground,strap,peak_N,reference_kg\n"

func TestDecode(t *testing.T) {
	t.Parallel()
	want := []shock.Pull{
		{Line: 2, Day: "1", Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "rope"}, Peak: 41500.5, Low: 41000, High: 44000,
			Reference: 2800, Speed: 2.5, Puller: 3000, StrapLength: 9, StrapMBS: 80000, Flags: []string{"sampling", "few readings"}},
		{Line: 3, Day: "2", Class: shock.Class{Kind: pull.Steady, Ground: "mud, deep"}, Peak: 20000},
	}
	for name, text := range map[string]string{
		"comma": "day,kind,ground,strap,peak_N,reference_kg,peak_low_N,peak_high_N,speed_mps,puller_kg,strap_length_m,strap_mbs_N,flags,note\n" +
			"1,kinetic,mud,rope,41500.5,2800,41000,44000,2.5,3000,9,80000,sampling; few readings,x\n" +
			"2,steady,\"mud, deep\",,20000,,,,,,,,,\n",
		"semicolon, other order": "\ufeffflags;day;kind;ground;strap;peak_N;reference_kg;peak_low_N;peak_high_N;speed_mps;puller_kg;strap_length_m;strap_mbs_N\r\n" +
			"sampling|few readings;1; kinetic ;mud;rope;41500.5;2800;41000;4.4e4;2.5;3000;9;80000\r\n" +
			";2;steady;mud, deep;;20000;;;;;;;\r\n",
	} {
		got, err := shock.Decode(strings.NewReader(text), false)
		require.NoError(t, err, name)
		for i := range got {
			if len(got[i].Flags) == 0 {
				got[i].Flags = nil
			}
		}
		assert.Equal(t, want, got, name)
	}
	got, err := shock.Decode(strings.NewReader("# a comment\n\nday\tkind\tground\tstrap\tpeak_N\treference_kg\n1\tkinetic\t\t\t41500,5\t2800\n"), true)
	require.NoError(t, err)
	assert.Equal(t, 4, got[0].Line)
	assert.InDelta(t, 41500.5, float64(got[0].Peak), 1e-9)
}

func TestDecodeFaults(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text string
		line int
		says string
	}{
		"empty":         {"", 0, "the table is empty"},
		"only comments": {"# x\n# y\n", 0, "the table is empty"},
		"header only":   {head, 1, "no pulls below the header"},
		"no column":     {"day,kind,ground,strap,peak_kN,reference_kg\n1,kinetic,,,4,2\n", 1, "there is no column peak_N"},
		"column twice":  {"day,kind,ground,strap,peak_N,reference_kg,day\n", 1, "two columns are named day"},
		"ragged":        {head + "1,kinetic,mud,rope,40000,2800\n1,kinetic,mud,rope,40000\n", 3, "5 columns where the header has 6"},
		"text":          {head + "1,kinetic,mud,rope,hard,2800\n", 2, `peak_N is "hard", not a number`},
		"NaN":           {head + "1,kinetic,mud,rope,40000,NaN\n", 2, `reference_kg is "NaN", not a finite number`},
		"infinite":      {head + "1,kinetic,mud,rope,1e999,2800\n", 2, "not a finite number"},
		"negative":      {head + "\n1,kinetic,mud,rope,-40000,2800\n", 3, "must be above zero"},
		"zero":          {head + "1,kinetic,mud,rope,40000,0\n", 2, "must be above zero"},
		"hexadecimal":   {head + "1,kinetic,mud,rope,0x1p3,2800\n", 2, "not a number"},
		"comma":         {strings.ReplaceAll(head, ",", ";") + "1;kinetic;mud;rope;40000,5;2800\n", 2, "--decimal-comma"},
		"interval":      {"day,kind,ground,strap,peak_N,reference_kg,peak_low_N\n1,kinetic,mud,rope,40000,2800,41000\n", 2, "is not between"},
		"open quote":    {head + "1,kinetic,\"mud,rope,40000,2800\n", 2, "a quoted value does not end"},
		"binary":        {"PK\x00\x01", 0, "no text"},
	} {
		_, err := shock.Decode(strings.NewReader(c.text), false)
		fault, ok := errors.AsType[*strict.Error](err)
		require.True(t, ok, name)
		assert.Equal(t, c.line, fault.Line, name)
		assert.Contains(t, err.Error(), c.says, name)
		assert.Contains(t, fault.Problem, "; ", "%s: what to do", name)
	}
	_, err := shock.Decode(iotest.ErrReader(io.ErrClosedPipe), false)
	require.ErrorIs(t, err, io.ErrClosedPipe)
}

// FuzzDecode: whatever the bytes, there are pulls or a fault with a line; a
// fit of what was read ends, and nothing in it is lost.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(head+"1,kinetic,mud,rope,40000,2800\n2,kinetic,mud,rope,30000,2800\n"), false)
	f.Add([]byte("# x\nday;kind;ground;strap;peak_N;reference_kg;flags\n1;kinetic;\"m;d\";;4,5;2;overload\n"), true)
	f.Fuzz(func(t *testing.T, text []byte, comma bool) {
		pulls, err := shock.Decode(bytes.NewReader(text), comma)
		if err != nil {
			_, ok := errors.AsType[*strict.Error](err)
			require.True(t, ok)
			return
		}
		require.NotEmpty(t, pulls)
		if len(pulls) > 50 {
			return
		}
		s := shock.Fit(pulls)
		assert.Equal(t, len(pulls), len(s.Used)+len(s.LeftOut))
	})
}
