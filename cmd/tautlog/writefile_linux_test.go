package main

import (
	"encoding/binary"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// TestAFileIsClosedBeforeItGetsItsName: Windows refuses another name to an
// open file, so that nothing could be exported there. In which order the file
// was closed and named is told by the kernel (inotify).
func TestAFileIsClosedBeforeItGetsItsName(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	watch, err := unix.InotifyInit1(unix.IN_NONBLOCK | unix.IN_CLOEXEC)
	require.NoError(t, err)
	defer unix.Close(watch)
	_, err = unix.InotifyAddWatch(watch, dir, unix.IN_CLOSE_WRITE|unix.IN_MOVED_FROM|unix.IN_MOVED_TO)
	require.NoError(t, err)

	require.NoError(t, writeFile(filepath.Join(dir, "day.csv"), func(w io.Writer) error {
		_, err := io.WriteString(w, "t_s,force_N\n")
		return err
	}))
	events := make([]byte, 4096)
	n, err := unix.Read(watch, events)
	require.NoError(t, err)
	var order []string
	for at := 0; at < n; {
		mask, length := binary.NativeEndian.Uint32(events[at+4:]), int(binary.NativeEndian.Uint32(events[at+12:]))
		name := strings.TrimRight(string(events[at+unix.SizeofInotifyEvent:at+unix.SizeofInotifyEvent+length]), "\x00")
		at += unix.SizeofInotifyEvent + length
		switch {
		case mask&unix.IN_CLOSE_WRITE != 0:
			require.True(t, strings.HasPrefix(name, ".day.csv-"), name)
			order = append(order, "closed")
		case mask&unix.IN_MOVED_FROM != 0:
			order = append(order, "leaves its working name")
		case mask&unix.IN_MOVED_TO != 0:
			order = append(order, name)
		}
	}
	require.Equal(t, []string{"closed", "leaves its working name", "day.csv"}, order)
}
