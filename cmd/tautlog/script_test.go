package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain makes the command line available to the scripts as the command
// tautlog, run by this test binary. The program itself has no other entry.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tautlog": func() {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
		stop()
		os.Exit(code)
	}})
}

// TestScripts runs what people type and looks at what they get back. One
// script a topic, in testdata/script.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "fill-log": fillLog, "pull-trace": pullTrace},
		Setup: func(e *testscript.Env) error {
			self, err := os.Executable()
			e.Setenv("TAUTLOG", self)
			return err
		},
	})
}

// exits is "exits CODE PROGRAM ARGS...": the program must end with just that
// exit code.
func exits(ts *testscript.TestScript, negated bool, args []string) {
	if negated || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGS...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		ended, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = ended.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}
