package main

import (
	"fmt"
	"math"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// pullTrace is "pull-trace FILE": 100 readings a second for a minute, slack but
// for a pulse of 0.8 s that reaches 40 kN, in whole newtons.
func pullTrace(ts *testscript.TestScript, negated bool, args []string) {
	if negated || len(args) != 1 {
		ts.Fatalf("usage: pull-trace FILE")
	}
	var b strings.Builder
	b.WriteString("t_s,force_N\n")
	for i := range 6000 {
		t := float64(i) / 100
		f := float64(i*7%5) - 2
		if x := (t - 20) / 0.8; x > 0 && x < 1 {
			f += math.Round(40e3 * math.Sin(math.Pi*x))
		}
		fmt.Fprintf(&b, "%.2f,%.0f\n", t, f)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o600))
}
