package port_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/port"
)

// The runtime must not watch the device for readiness beside the reads: it
// would wake up for every reading.
func TestNothingElseWakesUpForADevice(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cell")
	m := terminal(t, path)
	f := follow(t, port.Line{Path: path})
	f.wantUp(t)
	_, err := m.WriteString("12.3\r\n")
	require.NoError(t, err)
	f.wantBytes(t, "12.3\r\n")
	device, err := filepath.EvalSymlinks(path)
	require.NoError(t, err)
	assert.NotEmpty(t, watched(t), "the master's own file, at least")
	assert.NotContains(t, watched(t), device)
	f.stop(t)
}

// watched are the files that this process waits for by epoll (proc(5),
// /proc/pid/fdinfo).
func watched(t *testing.T) (files []string) {
	t.Helper()
	infos, err := filepath.Glob("/proc/self/fdinfo/*")
	require.NoError(t, err)
	for _, info := range infos {
		text, err := os.ReadFile(info)
		if err != nil {
			continue // closed meanwhile
		}
		for line := range strings.Lines(string(text)) {
			fields := strings.Fields(line)
			if len(fields) < 2 || fields[0] != "tfd:" {
				continue
			}
			if file, err := os.Readlink("/proc/self/fd/" + fields[1]); err == nil {
				files = append(files, file)
			}
		}
	}
	return files
}
