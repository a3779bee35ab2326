package needs

import (
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Instrument starts a program that plays a device, until the test ends, and
// waits until it is plugged in at link.
func Instrument(t testing.TB, link, program string, args ...string) {
	t.Helper()
	c := exec.Command(program, args...)
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	})
	require.Eventually(t, func() bool { _, err := os.Stat(link); return err == nil }, 20*time.Second, 5*time.Millisecond)
}

// Sender starts testdata/sender, a cell that shares no code with the program,
// at link: a hundred thousand readings, unless args say otherwise. The test has
// to be of a package two directories down.
func Sender(t testing.TB, link string, args ...string) {
	t.Helper()
	args = append([]string{"-B", "../../testdata/sender/send_frames.py", "--link", link, "--count", "100000"}, args...)
	Instrument(t, link, Python(t, "python3"), args...)
}
