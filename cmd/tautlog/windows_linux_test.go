package main

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// windows is the program for Windows, run by wine with a drive of its own.
type windows struct {
	t                     *testing.T
	wine, program, prefix string
}

// prng is the one function that wine before version 9 does not have and that
// every Go program asks Windows for.
const prng = `#include <windows.h>
BOOLEAN NTAPI SystemFunction036(PVOID, ULONG);
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE p, SIZE_T n) { return SystemFunction036(p, (ULONG)n); }
`

// newWindows builds the program and a drive. TAUTLOG_WINE names the wine
// program, since Debian keeps it out of the path: /usr/lib/wine/wine64.
func newWindows(t *testing.T) *windows {
	wine := os.Getenv("TAUTLOG_WINE")
	if wine == "" {
		t.Skip("TAUTLOG_WINE names no wine to run the program for Windows with")
	}
	dir := t.TempDir()
	w := &windows{t: t, wine: wine, program: filepath.Join(dir, "tautlog.exe"), prefix: filepath.Join(dir, "wine")}
	build := exec.CommandContext(t.Context(), "go", "build", "-trimpath", "-o", w.program, ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=windows", "GOARCH=amd64")
	require.NoError(t, said(build))
	require.NoError(t, said(w.run(wine, "wineboot", "-i")))
	library := filepath.Join(w.prefix, "drive_c", "windows", "system32", "bcryptprimitives.dll")
	if _, err := os.Stat(library); err != nil {
		source := filepath.Join(dir, "prng.c")
		require.NoError(t, os.WriteFile(source, []byte(prng), 0o644))
		require.NoError(t, said(exec.CommandContext(t.Context(), "x86_64-w64-mingw32-gcc", "-shared", "-o", library, source, "-ladvapi32")),
			"install gcc-mingw-w64-x86-64-win32, or a later wine")
	}
	t.Cleanup(func() { _ = w.run(filepath.Join(filepath.Dir(wine), "wineserver64"), "-k").Run() })
	return w
}

func (w *windows) run(program string, args ...string) *exec.Cmd {
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), "WINEPREFIX="+w.prefix, "WINEARCH=win64", "WINEDEBUG=-all")
	return c
}

// tautlog runs the program to its end and gives what it prints.
func (w *windows) tautlog(args ...string) []byte {
	w.t.Helper()
	out, err := w.run(w.wine, append([]string{w.program}, args...)...).Output()
	require.NoError(w.t, err, "%q", args)
	return out
}

func said(c *exec.Cmd) error {
	c.Stdout, c.Stderr = os.Stderr, os.Stderr
	return c.Run()
}

// simulated is a cell at a pseudo-terminal, until the test ends.
func simulated(t *testing.T) (port string) {
	says, out := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(t.Context(), []string{"demo", "--cell-only", "--seed", "7"}, nil, out, io.Discard)
	}()
	t.Cleanup(func() { require.Zero(t, <-ended) }) // by now the context of the test has ended
	lines := bufio.NewScanner(says)
	for range 2 { // the port is on the second line
		require.True(t, lines.Scan())
	}
	port = lines.Text()
	go io.Copy(io.Discard, says) //nolint:errcheck // the rest of what it says
	return port
}

// TestWindows runs the program for Windows, where wine is named. It records a
// cell at a COM port, which is a pseudo-terminal here, is killed, and keeps what
// it had; and from that store it tells the same as the program of this machine,
// to the bit. Directories that are not empty are not removed by os.RemoveAll
// under wine 8, so that restore is not tried.
func TestWindows(t *testing.T) {
	w := newWindows(t)
	drive := filepath.Join(w.prefix, "drive_c", "Übung am Fluß")
	require.NoError(t, os.Mkdir(drive, 0o755))
	const c = `C:\Übung am Fluß\`
	require.NoError(t, os.Symlink(simulated(t), filepath.Join(w.prefix, "dosdevices", "com33")))
	w.tautlog("cells", "--listen", "COM33", "--curve", "0,1", "--save", "River-1", "--data", c+"store")

	daemon := w.run(w.wine, w.program, "record", "--data", c+"store")
	require.NoError(t, daemon.Start())
	export := []string{"export", "--data", c + "store", "--cell", "River-1", "-o"}
	exported := filepath.Join(drive, "day.csv")
	require.Eventually(t, func() bool { // 100 kB are some three seconds
		e := w.run(w.wine, append([]string{w.program}, append(export, c+"day.csv")...)...)
		ran := e.Run() == nil
		info, err := os.Stat(exported)
		return ran && err == nil && info.Size() > 100<<10
	}, 5*time.Minute, time.Second)
	require.NoError(t, daemon.Process.Signal(syscall.SIGKILL))
	require.Error(t, daemon.Wait(), "it was killed")

	before, err := os.ReadFile(exported)
	require.NoError(t, err)
	w.tautlog(append(export, c+"after.csv")...)
	after, err := os.ReadFile(filepath.Join(drive, "after.csv"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(after), len(before))
	require.True(t, bytes.HasPrefix(after, before), "what was stored before the kill")
	w.tautlog("backup", c+"all.tautlog", "--data", c+"store")

	for _, words := range [][]string{{"pulls", "--data", "store", "--json"}, {"export", "--data", "store", "--cell", "River-1"}, {"pulls", "after.csv", "--json", "--cycles"}, {"texts"}} {
		there, here := slices.Clone(words), slices.Clone(words)
		for i, word := range words {
			if word == "store" || word == "after.csv" {
				there[i], here[i] = c+word, filepath.Join(drive, word)
			}
		}
		code, linux, remarks := tautlog(t, here...)
		require.Zero(t, code, remarks)
		require.Equal(t, linux, string(w.tautlog(there...)), "%q", words)
	}
}
