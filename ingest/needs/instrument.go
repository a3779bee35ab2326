package needs

import (
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Patience is how long a test waits for another process on a busy machine.
const Patience = 2 * time.Minute

// Instrument starts a program that plays a device, until the test ends, and
// waits until it is plugged in at link.
func Instrument(t testing.TB, link, program string, args ...string) {
	t.Helper()
	plugIn(t, link, exec.Command(program, args...), func() {})
}

// plugIn starts c, and listen beside it, which returns when c has ended.
func plugIn(t testing.TB, link string, c *exec.Cmd, listen func()) {
	t.Helper()
	require.NoError(t, c.Start())
	listened := make(chan struct{})
	go func() {
		defer close(listened)
		listen()
	}()
	t.Cleanup(func() {
		_ = c.Process.Kill()
		<-listened
		_ = c.Wait()
	})
	require.Eventually(t, func() bool { _, err := os.Stat(link); return err == nil }, Patience, 5*time.Millisecond)
}
