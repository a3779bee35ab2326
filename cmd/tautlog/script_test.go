package main

import (
	"context"
	"os"
	"os/signal"
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
	})
}
