package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/ingest/store"
)

// TestPullMeasuredAgain: after a corrected calibration the page of a pull says
// so, measures it again by a button, and shows what that changed, verdicts
// included.
func TestPullMeasuredAgain(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	assert.NotContains(t, w.page(t, "/pulls/1"), "Measure it again")
	_, err := w.store.SaveCalibration(t.Context(), store.Calibration{Cell: w.cell.ID, Kept: calibrate.Kept{
		From: "2026-01-01T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 1.3}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Relative95: 0.01},
	}})
	require.NoError(t, err)
	page := w.page(t, "/pulls/1")
	assert.Contains(t, page, "This pull was measured by the curve that the cell was set up with. In force for its time is now calibration 1, certificate LF-1.")
	assert.NotContains(t, page, "What measuring it again changed")
	page = w.send(t, "/pulls/1/again")
	assert.NotContains(t, page, "Measure it again")
	p, err := w.store.Pull(t.Context(), 1)
	require.NoError(t, err)
	assert.InDelta(t, 52e3, float64(p.Found.Peak), 60, "1.3 times 40 kN")
	assert.Equal(t, "wet sand", p.Ground, "what people said of it stays")
	assert.Contains(t, page, "What measuring it again changed")
	assert.Contains(t, page, "40.00 kN (true peak 39.80 to 40.90), now 52")
	assert.Contains(t, page, "<dt>rear point</dt><dd>inside rating, now over rating</dd>")

	going := found()
	going.Start, going.End, going.PeakAt = going.Start+90e9, going.End+90e9, going.PeakAt+90e9
	unsettled, err := w.store.SavePull(t.Context(), store.Pull{Cell: w.cell.ID, Found: going})
	require.NoError(t, err)
	res := w.ask("POST", fmt.Sprintf("/pulls/%d/again", unsettled.ID), url.Values{"token": {w.token(t)}}, nil)
	assert.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, read(t, res), "not over yet")
}
