// Package needs gives tests what they need and is not of this program: reference
// programs and tables, an instrument in a process of its own, a small disk and
// one that fails. A test that cannot have it on a machine is skipped, and fails where TAUTLOG_CHECKS=all
// asks for every check.
package needs

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Missing ends a test that cannot run here. It says what is missing and how to
// get it.
func Missing(t testing.TB, say string, args ...any) {
	t.Helper()
	if os.Getenv("TAUTLOG_CHECKS") == "all" {
		t.Fatalf(say, args...)
	}
	t.Skipf(say, args...)
}

// Program gives the path of a program of a Debian package.
func Program(t testing.TB, name, debian string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, "%s is missing: install the package %s", name, debian)
	}
	return path
}

// Python gives the path of Debian's interpreter, which has these modules; where
// it has not, the packages bring them.
func Python(t testing.TB, packages string, modules ...string) string {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import sys, "+strings.Join(append(modules, "json"), ", ")).Run(); err != nil {
		Missing(t, "Python or a module of it is missing: install the packages %s", packages)
	}
	return python
}

// Scipy runs a script of Debian's python3-scipy with in as JSON on its input,
// and reads its answer, which is JSON, into out.
func Scipy(t testing.TB, script string, in, out any) {
	t.Helper()
	text, err := json.Marshal(in)
	require.NoError(t, err)
	c := exec.Command(Python(t, "python3-scipy", "scipy.signal"), script)
	c.Stdin, c.Stderr = bytes.NewReader(text), os.Stderr
	answer, err := c.Output()
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(answer, out))
}
