//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// A shell behind a pseudo-terminal answers each line that it is sent.
func TestCellsAsksAndSaves(t *testing.T) {
	t.Parallel()
	dir, data := t.TempDir(), t.TempDir()
	link, script := filepath.Join(dir, "cell"), filepath.Join(dir, "answer.sh")
	require.NoError(t, os.WriteFile(script, []byte(`while read -r l; do printf '%s\r\nST,+  12.34 kN\r\n' "$l"; done`), 0o600))
	needs.Instrument(t, link, needs.Program(t, "socat", "socat"), "pty,raw,echo=0,link="+link, "EXEC:sh "+script)
	code, out, remarks := tautlog(t, "cells", "--listen", link, "--for", "2s", "--poll", `W\n`, "--every", "50ms", "--save", "River-1", "--data", data)
	require.Zero(t, code, remarks)
	assert.Contains(t, out, `asked with W\n every 50 ms, which it repeats`)
	st, err := store.OpenReader(data)
	require.NoError(t, err)
	defer st.Close()
	c, err := st.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	assert.Equal(t, wire.Ask{Poll: `W\n`, Echo: true, Every: 50, Timeout: 500}, c.Wire.Ask)
	assert.Equal(t, 2, c.Wire.Text.Column)
	assert.Equal(t, "kN", c.Wire.Text.Unit)
	assert.InDelta(t, 20, c.Rate, 1e-9)
	assert.InDelta(t, 12340, float64(c.Curve.Force(1234)), 1e-9)
}

// An independent Modbus instrument is asked for a register.
func TestCellsAsksByModbus(t *testing.T) {
	t.Parallel()
	python := needs.Python(t, "python3-pymodbus and python3-serial-asyncio", "pymodbus", "serial_asyncio")
	dir := t.TempDir()
	ours, theirs := filepath.Join(dir, "ours"), filepath.Join(dir, "theirs")
	needs.Instrument(t, ours, needs.Program(t, "socat", "socat"), "pty,raw,echo=0,link="+ours, "pty,raw,echo=0,link="+theirs)
	needs.Instrument(t, theirs, python, "../../testdata/sender/serve_registers.py", theirs)
	code, out, remarks := tautlog(t, "cells", "--listen", ours, "--baud", "19200", "--for", "8s", "--modbus", "17:34:float32:CDAB", "--unit", "kgf", "--decimals", "1")
	require.Zero(t, code, remarks)
	assert.Contains(t, out, "1. Modbus RTU: instrument 17, holding register 34, float32 in the order CDAB in kgf with 1 decimal; asked as fast as it answers\n")
	assert.Contains(t, out, "11 03 04") // the head of each answer
	assert.Regexp(t, `that gives [1-9][0-9]* readings`, out)
}

func TestCellsRefusesWhatCannotBeAsked(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--modbus", "1:0"}, "write ADDRESS:REGISTER:TYPE[:ORDER]"},
		{[]string{"--modbus", "1:x:int16"}, `"x" is not a number`},
		{[]string{"--modbus", "1:0:int64"}, "modbus.type is"},
		{[]string{"--poll", `\q`}, "ask.poll is"},
		{[]string{"--as", "{"}, `take what "as a setting" shows`},
		{[]string{"--baud", "0"}, "--baud 0 is no rate"},
	} {
		code, _, remarks := tautlog(t, append([]string{"cells", "--listen", "/dev/none"}, c.args...)...)
		assert.Equal(t, 2, code, c.args)
		assert.Contains(t, remarks, c.says)
	}
	code, _, remarks := tautlog(t, "cells", "--poll", "W")
	assert.Equal(t, 2, code)
	assert.Contains(t, remarks, "--poll goes with --listen")
}
