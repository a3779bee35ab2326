package tracefile

import (
	"bytes"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkParse is one core at work on text that is in memory.
func BenchmarkParse(b *testing.B) {
	for name, line := range map[string]string{
		"three decimals":     "1234.567,-12345.678\n",
		"seventeen digits":   "1234.5670000000001,12345.678901234567\n",
		"eighteen, exponent": "1.234567000000000000e+03,1.234567890123456700e+04\n",
		"dates":              "2026-05-17T09:30:00.125Z,12345.678\n",
	} {
		b.Run(name, func(b *testing.B) {
			text := bytes.Repeat([]byte(line), 10_000)
			p := parser{layout: layout{separator: ',', mark: '.', columns: 2, force: 1, marks: -1, newtons: 1, dates: name == "dates"}}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				for i := 0; i < len(text); {
					next, _, _ := p.fastLine(text, i)
					if next < 0 {
						var whole []byte
						whole, next = wholeLine(text, i)
						_, _, _, err := p.slowLine(whole, 1)
						require.Nil(b, err)
					}
					i = next
				}
			}
		})
	}
}

// BenchmarkNumber compares with the standard library on the same numbers.
func BenchmarkNumber(b *testing.B) {
	number := []byte("12345.678901234567\n")
	want := 12345.678901234567
	b.Run("ours", func(b *testing.B) {
		for b.Loop() {
			d, _ := scan(number, 0, '.')
			if v, _ := d.value(); v != want {
				b.Fatal(v)
			}
		}
	})
	b.Run("strconv", func(b *testing.B) {
		for b.Loop() {
			if v, _ := strconv.ParseFloat(string(number[:len(number)-1]), 64); v != want {
				b.Fatal(v)
			}
		}
	})
}

// Lines of a well-formed trace allocate nothing, by the slow way neither.
func TestLinesDoNotAllocate(t *testing.T) {
	p := parser{layout: layout{separator: ',', mark: '.', columns: 3, force: 1, marks: 2, newtons: 1}}
	for _, line := range []string{"0.1,-2.5,\n", "0.1,-2.5,overload\n", "1.0e-1,2.5e0,x\n", " 1 , +2 ,\n", "\"1\",\"2\",\"3\"\n", "0.1,12345.678901234567,\r\n"} {
		text := bytes.Repeat([]byte(line), 2)
		one := func() {
			if next, _, _ := p.fastLine(text, 0); next < 0 {
				whole, _ := wholeLine(text, 0)
				if _, _, _, err := p.slowLine(whole, 1); err != nil {
					t.Fatal(err)
				}
			}
		}
		one()
		require.Zero(t, testing.AllocsPerRun(100, one), line)
	}
}
