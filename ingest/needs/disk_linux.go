package needs

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// Disk mounts a file system in memory of that size ("8m") until the test ends,
// and gives its directory. That needs root.
func Disk(t testing.TB, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		Missing(t, "cannot mount a small file system here (run as root): %v", err)
	}
	t.Cleanup(func() { require.NoError(t, unix.Unmount(dir, unix.MNT_DETACH)) })
	return dir
}

// Fill writes a file that leaves so many bytes of a disk free, or none where
// somebody else is writing there too, and gives its path.
func Fill(t testing.TB, disk string, spare uint64) string {
	t.Helper()
	name := filepath.Join(disk, "photographs")
	f, err := os.Create(name)
	require.NoError(t, err)
	defer f.Close()
	for err == nil {
		var free unix.Statfs_t
		require.NoError(t, unix.Statfs(disk, &free))
		left := free.Bavail * uint64(free.Bsize)
		if left <= spare {
			return name
		}
		_, err = f.Write(make([]byte, min(left-spare, 1<<20)))
	}
	require.ErrorIs(t, err, unix.ENOSPC)
	return name
}

// FragileDisk is a disk that can be made to fail: ext4 in a file.
type FragileDisk struct {
	Dir string // where it is mounted

	t      testing.TB
	device string
}

// Card makes a FragileDisk of so many bytes, until the test ends. Where a file
// cannot be mounted, the test is skipped: that is up to the machine and no
// package brings it.
func Card(t testing.TB, size int64) *FragileDisk {
	t.Helper()
	file := filepath.Join(t.TempDir(), "card")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.NoError(t, os.Truncate(file, size))
	d := &FragileDisk{Dir: t.TempDir(), t: t}
	d.command(Program(t, "mkfs.ext4", "e2fsprogs"), "-q", "-e", "remount-ro", file)
	device, err := exec.Command(Program(t, "losetup", "mount"), "--find", "--show", file).Output()
	if err != nil {
		t.Skipf("cannot make a disk of a file here (run as root, with loop devices): %v", err)
	}
	d.device = strings.TrimSpace(string(device))
	t.Cleanup(func() { d.command("losetup", "--detach", d.device) })
	if err := unix.Mount(d.device, d.Dir, "ext4", 0, ""); err != nil {
		t.Skipf("cannot mount a file here (run as root): %v", err)
	}
	t.Cleanup(func() { _ = unix.Unmount(d.Dir, unix.MNT_DETACH) })
	return d
}

// Lock has the disk refuse what is written to these files, open ones too, until
// they are unlocked.
func (d *FragileDisk) Lock(files []string, lock bool) {
	d.t.Helper()
	flag := map[bool]string{true: "+i", false: "-i"}[lock]
	d.command(Program(d.t, "chattr", "e2fsprogs"), append([]string{flag}, files...)...)
}

// Fail has the system find an error on the disk, and make it read-only: so it
// stays until Repair.
func (d *FragileDisk) Fail() {
	d.t.Helper()
	trigger := filepath.Join("/sys/fs/ext4", filepath.Base(d.device), "trigger_fs_error")
	require.NoError(d.t, os.WriteFile(trigger, []byte("1"), 0o200))
}

// Repair does what a person does then: unmounts the disk, which nobody may use
// any more, checks it and mounts it again.
func (d *FragileDisk) Repair() {
	d.t.Helper()
	require.NoError(d.t, unix.Unmount(d.Dir, 0))
	var corrected *exec.ExitError
	err := exec.Command(Program(d.t, "e2fsck", "e2fsprogs"), "-fy", d.device).Run()
	if err != nil {
		require.ErrorAs(d.t, err, &corrected)
		require.Equal(d.t, 1, corrected.ExitCode(), "errors were corrected")
	}
	require.NoError(d.t, unix.Mount(d.device, d.Dir, "ext4", 0, ""))
}

func (d *FragileDisk) command(program string, args ...string) {
	d.t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	require.NoError(d.t, err, "%s", out)
}
