//go:build unix

package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

func TestCellsSavesWhatWasHeard(t *testing.T) {
	t.Parallel()
	link, data := filepath.Join(t.TempDir(), "cell"), t.TempDir()
	needs.Sender(t, link, "--rate", "1000", "--per-frame", "10")
	listen := []string{"cells", "--listen", link, "--for", "4s", "--save", "River-1", "--data", data}

	code, _, remarks := tautlog(t, listen...)
	assert.Equal(t, 1, code)
	assert.Contains(t, remarks, "cell River-1 sends counts: its curve is needed", "counts mean nothing without a calibration")
	assert.Contains(t, remarks, "add --curve")

	code, out, remarks := tautlog(t, append(listen, "--capacity", "100kN", "--curve", "-3248,4", "--uncertainty-percent", "0.5")...)
	require.Zero(t, code, remarks)
	assert.Contains(t, out, "record it: tautlog serve --data "+data+" --cell River-1="+link)
	st, err := store.OpenReader(data)
	require.NoError(t, err)
	defer st.Close()
	c, err := st.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	assert.Equal(t, link, c.Line.Path)
	assert.Equal(t, wire.Packed, c.Wire.Format)
	assert.Equal(t, unit.Force(100e3), c.Capacity)
	assert.Equal(t, []float64{-3248, 4}, c.Curve.Coefficients)
	assert.InDelta(t, 0.005, c.Curve.Relative95, 1e-12)
	assert.InDelta(t, 1000, c.Rate, 200)
}

func TestServeRefuses(t *testing.T) {
	data := t.TempDir()
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"serve", "--data", data, "--cell", "River-1"}, 2, "write NAME=PORT"},
		{[]string{"serve", "--data", data, "--cell", "A=/dev/x", "--cell", "A=/dev/y"}, 2, "given twice"},
		{[]string{"demo", "--listen", "0.0.0.0:0"}, 2, "shown on this machine only"},
		{[]string{"demo", "--asked", "smoke"}, 2, `"smoke" is no way to ask it: use text or modbus`},
		{[]string{"serve", "--data", data, "--listen", "river-bar:8480"}, 2, "an address in digits"},
		{[]string{"serve", "--data", data, "--host", "http://river-bar"}, 2, "a name alone"},
		{[]string{"serve", "--data", data, "--tls-cert", "a.pem"}, 2, "give both or neither"},
		{[]string{"serve", "--data", data, "--tls-cert", "a.pem", "--tls-key", "b.pem"}, 1, "a.pem"},
		{[]string{"serve", "--data", data, "--listen", "8480"}, 2, "ADDRESS:PORT"},
		{[]string{"serve", "more"}, 2, `takes no "more"`},
		{[]string{"record", "--data", data, "--cell", "River-9=/dev/ttyUSB9"}, 1, "tautlog cells --listen /dev/ttyUSB9 --save River-9"},
		{[]string{"record", "--data", filepath.Join("/proc", "no")}, 1, "/proc/no"},
	} {
		code, out, remarks := tautlog(t, c.args...)
		assert.Equal(t, c.code, code, c.args)
		assert.Contains(t, remarks, c.says)
		assert.Empty(t, out)
	}
}
