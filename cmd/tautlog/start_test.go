//go:build linux

package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
)

// TestTheProgramAloneOpensItsPages starts the program as a click on its file
// does: no words, a home that has no store yet. What opens addresses on a
// desktop is a script that notes what it was given.
func TestTheProgramAloneOpensItsPages(t *testing.T) {
	t.Parallel()
	home, tools := t.TempDir(), t.TempDir()
	opened := filepath.Join(home, "opened")
	script := "#!/bin/sh\nprintf '%s\\n' \"$1\" >" + opened + ".new && mv " + opened + ".new " + opened + "\n"
	require.NoError(t, os.WriteFile(filepath.Join(tools, "xdg-open"), []byte(script), 0o755))
	program, err := os.Executable()
	require.NoError(t, err)
	self := filepath.Join(tools, "tautlog") // the name that makes this test binary the program
	require.NoError(t, os.Symlink(program, self))

	ctx, stop := context.WithTimeout(t.Context(), needs.Patience)
	defer stop()
	c := exec.CommandContext(ctx, self)
	c.Env = append(os.Environ(), "HOME="+home, "PATH="+tools+":"+os.Getenv("PATH"))
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	lines := bufio.NewScanner(out)
	address := ""
	for address == "" && lines.Scan() {
		address, _ = strings.CutPrefix(lines.Text(), "Pages: ")
		if !strings.HasPrefix(address, "http://") {
			address = ""
		}
	}
	require.NotEmpty(t, address)
	go func() { _, _ = io.Copy(io.Discard, out) }()
	require.Eventually(t, func() bool {
		told, err := os.ReadFile(opened)
		return err == nil && strings.TrimSpace(string(told)) == address
	}, needs.Patience, 20*time.Millisecond, "the browser was given the address of the pages")
	answer, err := http.Get(address)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.FileExists(t, filepath.Join(home, "tautlog", "tautlog.db"))
	require.NoError(t, c.Process.Signal(syscall.SIGINT))
	require.NoError(t, c.Wait())
}
