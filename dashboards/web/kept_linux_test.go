package web_test

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/dashboards/web"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// restored sends a saved file as a browser does: with its length, or without.
func (f *fixture) restored(t *testing.T, name, file string, data []byte, length bool) (int, string) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	require.NoError(t, m.WriteField("token", f.token(t)))
	require.NoError(t, m.WriteField("name", name))
	w, err := m.CreateFormFile("file", file)
	require.NoError(t, err)
	_, err = w.Write(data)
	require.NoError(t, err)
	require.NoError(t, m.Close())
	res := f.ask("POST", "/kept/restore", nil, func(r *http.Request) {
		r.Header.Set("Content-Type", m.FormDataContentType())
		r.Body, r.ContentLength = io.NopCloser(&b), -1
		if length {
			r.ContentLength = int64(b.Len())
		}
	})
	return res.StatusCode, read(t, res)
}

// TestNoRoomOnTheDisk saves and brings back on a disk that has less room than a
// copy takes: both are refused as a page that says so, nothing half made stays,
// and it can be recorded on.
func TestNoRoomOnTheDisk(t *testing.T) {
	disk := needs.Disk(t, "300m")
	s, err := store.Open(filepath.Join(disk, "tautlog"), store.Options{})
	require.NoError(t, err)
	f := &fixture{store: s}
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	f.cell, err = s.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Rate: 1000})
	require.NoError(t, err)
	noise := make([]int64, 1_000_000)
	for i := range noise {
		noise[i] = int64(uint32(i) * 2654435761 >> 8) // nothing that would be smaller in a file
	}
	require.NoError(t, s.Append(t.Context(), []store.Run{{Cell: f.cell.ID, Start: start.UnixNano(), Step: 1e6, Raw: noise}}))
	saved := filepath.Join(t.TempDir(), "club.tautlog")
	require.NoError(t, s.Backup(t.Context(), saved))
	data, err := os.ReadFile(saved)
	require.NoError(t, err)
	require.Greater(t, len(data), 2<<20)
	f.pages, err = web.New(web.Config{Store: s, Zone: time.UTC})
	require.NoError(t, err)

	code, page := f.restored(t, "fits", "club.tautlog", data, true)
	require.Equal(t, http.StatusOK, code, page)
	needs.Fill(t, disk, 256<<20+1<<19)
	before := filesOn(t, disk)
	res := f.ask("POST", "/kept/backup", url.Values{"token": {f.token(t)}}, nil)
	page = read(t, res)
	assert.Equal(t, http.StatusInsufficientStorage, res.StatusCode)
	assert.Empty(t, res.Header.Get("Content-Disposition"), "a page, no file")
	assert.Contains(t, page, "there is too little room on the disk for a copy")
	assert.Contains(t, page, "write it to another disk with tautlog backup")
	for _, length := range []bool{true, false} {
		code, page = f.restored(t, "new", "club.tautlog", data, length)
		assert.Equal(t, http.StatusInsufficientStorage, code)
		assert.Contains(t, page, "too little room on the disk for a copy")
		assert.Contains(t, page, "on another disk with tautlog restore")
	}
	assert.Equal(t, before, filesOn(t, disk), "nothing half made stays")
	more := store.Run{Cell: f.cell.ID, Start: start.Add(time.Hour).UnixNano(), Step: 1e6, Raw: pulse()}
	require.NoError(t, s.Append(t.Context(), []store.Run{more}))
	assert.Len(t, readingsOf(t, s, f.cell.ID), len(noise)+len(more.Raw))
	require.NoError(t, s.Integrity(t.Context()))
	there, err := store.OpenReader(filepath.Join(disk, "fits"))
	require.NoError(t, err)
	assert.Len(t, readingsOf(t, there, f.cell.ID), len(noise))
	require.NoError(t, there.Close())
}

// filesOn are the files and directories on a disk.
func filesOn(t *testing.T, disk string) (all []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(disk, func(path string, _ os.DirEntry, err error) error {
		all = append(all, path)
		return err
	}))
	return all
}
