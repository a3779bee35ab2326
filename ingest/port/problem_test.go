package port

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
)

func TestKinds(t *testing.T) {
	t.Parallel()
	for want, errs := range map[Kind][]error{
		Missing: {syscall.ENOENT, syscall.ENXIO, syscall.ENODEV, &fs.PathError{Err: syscall.ENOENT}},
		Denied:  {syscall.EACCES, syscall.EPERM, &fs.PathError{Err: syscall.EACCES}},
		Busy:    {syscall.EBUSY, fmt.Errorf("open: %w", errLocked), &serial.PortError{} /* its zero code is PortBusy */},
		Other:   {syscall.EIO, errors.New("?")},
	} {
		for _, err := range errs {
			assert.Equal(t, want, kindOf(err), "%v", err)
		}
	}
}

// Every sentence names the place and says what to do.
func TestProblemsAreSentences(t *testing.T) {
	t.Parallel()
	for kind, want := range map[Kind]string{
		Missing:  "plug it in",
		Denied:   "no permission",
		Busy:     "close that program",
		NoSerial: "tautlog cells",
		BadBaud:  "at 57600 baud",
		Gone:     "check plug, cable and power",
		Other:    "input/output error",
	} {
		p := &Problem{Line: Line{Path: "/dev/ttyX7", Baud: 57600}, Kind: kind, Err: syscall.EIO}
		assert.Contains(t, p.Error(), want)
		assert.Contains(t, p.Error(), "/dev/ttyX7")
		assert.ErrorIs(t, p, syscall.EIO)
	}
	assert.Contains(t, (&Problem{Kind: Denied}).Error(), permissionHint())
}

func TestStableNames(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	device := filepath.Join(dir, "ttyX0")
	require.NoError(t, os.WriteFile(device, nil, 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "by-id"), 0o700))
	link := filepath.Join(dir, "by-id", "usb-amplifier")
	require.NoError(t, os.Symlink("../ttyX0", link))
	require.NoError(t, os.Symlink("../gone", filepath.Join(dir, "by-id", "usb-gone")))
	real, err := filepath.EvalSymlinks(device)
	require.NoError(t, err)
	assert.Equal(t, map[string]string{real: link}, stableNames(filepath.Join(dir, "by-id")))
	assert.Empty(t, stableNames(filepath.Join(dir, "nowhere")))
}

func TestListHasNamesAndPutsUSBFirst(t *testing.T) {
	t.Parallel()
	infos, err := List()
	require.NoError(t, err)
	usb := true
	for _, i := range infos {
		assert.NotEmpty(t, i.Path)
		assert.False(t, i.USB != "" && !usb, "%+v", infos)
		usb = i.USB != ""
	}
	sorted := []Info{{Path: "b"}, {Path: "z", USB: "1:2"}, {Path: "a"}, {Path: "y", USB: "9:1"}}
	sortInfos(sorted)
	assert.Equal(t, []Info{{Path: "y", USB: "9:1"}, {Path: "z", USB: "1:2"}, {Path: "a"}, {Path: "b"}}, sorted)
}

// Root may open everything, others only what they are let.
func TestHidden(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	assert.NoError(t, hidden(filepath.Join(dir, "ttyS*")))
	name := filepath.Join(dir, "ttyS0")
	require.NoError(t, os.WriteFile(name, nil, 0o600))
	assert.NoError(t, hidden(filepath.Join(dir, "ttyS*")))
	require.NoError(t, os.Chmod(name, 0))
	err := hidden(filepath.Join(dir, "ttyS*"))
	if os.Geteuid() == 0 {
		assert.NoError(t, err)
	} else {
		assert.ErrorContains(t, err, "no permission to open "+name)
	}
}
