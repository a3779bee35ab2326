package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestADayFromItsStart is the way of somebody who runs a test day: start it,
// go through the list, and see it belong to the cell.
func TestADayFromItsStart(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	token := f.token(t)
	res := f.ask("POST", "/days", url.Values{"token": {token}, "name": {" "}}, nil)
	require.Equal(t, http.StatusBadRequest, res.StatusCode)
	assert.Contains(t, read(t, res), "wants a name")

	res = f.ask("POST", "/days", url.Values{"token": {token}, "name": {"spring practice"}, "place": {"river bar"}, "ground": {"silt"}}, nil)
	read(t, res)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	sheet := res.Header.Get("Location")
	require.Equal(t, "/days/2026-03-14", sheet)
	days, err := f.store.Days(t.Context())
	require.NoError(t, err)
	require.Len(t, days, 1)
	setup, err := f.store.Setup(t.Context(), f.pull.Cell)
	require.NoError(t, err)
	assert.Equal(t, days[0].ID, setup.Day, "pulls from now on belong to it")
	assert.Equal(t, "silt", setup.Ground)

	page := f.page(t, sheet)
	assert.Contains(t, page, "7 of 7 have not been gone through")
	form := url.Values{"token": {token}, "day": {fmt.Sprint(days[0].ID)}, "version": {fmt.Sprint(days[0].Version)}, "ready": {"area", "damper", "nonsense"}}
	res = f.ask("POST", sheet+"/ready", form, nil)
	read(t, res)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	day, err := f.store.Day(t.Context(), days[0].ID)
	require.NoError(t, err)
	assert.Equal(t, []string{"area", "damper"}, day.Ready)
	assert.Contains(t, f.page(t, sheet), "5 of 7 have not been gone through")
	res = f.ask("POST", sheet+"/ready", form, nil)
	read(t, res)
	assert.Equal(t, http.StatusSeeOther, res.StatusCode)
	again, err := f.store.Day(t.Context(), day.ID)
	require.NoError(t, err)
	assert.Equal(t, day, again, "the same form again changes nothing")
	form["version"], form["ready"] = []string{fmt.Sprint(again.Version)}, []string{"area", "people", "signals", "points", "gear", "damper", "cell"}
	res = f.ask("POST", sheet+"/ready", form, nil)
	read(t, res)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	page = f.page(t, sheet)
	assert.NotContains(t, page, "gone through")
	assert.Contains(t, page, "every point of the list was ticked", "the sheet answers the last tick")
}

// TestFilesOfADayAndAPull opens what can be kept of them.
func TestFilesOfADayAndAPull(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	get := func(target, media string) []byte {
		res := f.ask("GET", target, nil, nil)
		defer res.Body.Close()
		b, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, res.StatusCode, string(b))
		assert.Equal(t, media, res.Header.Get("Content-Type"))
		assert.Contains(t, res.Header.Get("Content-Disposition"), "attachment")
		return b
	}
	day, one := "/days/2026-03-14", fmt.Sprintf("/pulls/%d", f.pull.ID)
	for _, at := range []string{day, one} {
		assert.Contains(t, string(get(at+"/report.html", "text/html; charset=utf-8")), "What to do next")
		assert.True(t, bytes.HasPrefix(get(at+"/report.pdf", "application/pdf"), []byte("%PDF-")))
	}
	assert.Contains(t, string(get(day+"/pulls.csv", "text/csv; charset=utf-8")), "peak_high_N")
	var log struct {
		Pulls []struct{ ID int64 }
	}
	require.NoError(t, json.Unmarshal(get(day+"/pulls.json", "application/json"), &log))
	require.NotEmpty(t, log.Pulls)
	table := get(day+"/pulls.parquet", "application/vnd.apache.parquet")
	type row struct {
		ID int64 `parquet:"id"`
	}
	rows, err := parquet.Read[row](bytes.NewReader(table), int64(len(table)))
	require.NoError(t, err)
	assert.Len(t, rows, len(log.Pulls))
	for _, none := range []string{"/days/2020-01-01", "/days/2020-01-01/report.pdf", "/days/tomorrow", "/days/tomorrow/pulls.csv", day + "/report.doc", "/pulls/999/report.pdf"} {
		res := f.ask("GET", none, nil, nil)
		read(t, res)
		assert.Equal(t, http.StatusNotFound, res.StatusCode, none)
	}
}
