package web_test

import (
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// TestTraceInLeavesRoom brings a trace in where its file alone would get the
// disk too full to record: it is refused, and the room is free again.
func TestTraceInLeavesRoom(t *testing.T) {
	disk := needs.Disk(t, "270m")
	s, err := store.Open(filepath.Join(disk, "tautlog"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	f := &fixture{store: s}
	f.pages, err = web.New(web.Config{Store: s, Zone: time.UTC})
	require.NoError(t, err)
	needs.Fill(t, disk, 256<<20+1<<19)
	before := filesOn(t, disk)
	large := make([]byte, 3<<20)
	copy(large, traceFile(false))
	res, page := uploaded(t, f, "/files/trace", "file", map[string]string{"cell": "River-2", "start": "2026-03-15 09:00:00"}, map[string][]byte{"other.csv": large})
	assert.Equal(t, http.StatusInsufficientStorage, res.StatusCode)
	assert.Contains(t, page, "too little room on the disk")
	assert.Contains(t, page, "make room and try again")
	assert.Equal(t, before, filesOn(t, disk))
}
