// Command tautlog measures what a vehicle-recovery pull does to the gear: it
// records a load cell, finds and measures each pull, and compares the peak
// with the rating of every item that carried it.
package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
)

// A program whose file was clicked works here. The library would else send who
// clicked it on Windows to a command line, and end.
func init() { cobra.MousetrapHelpText = "" }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the process at once
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	if code != 0 && mousetrap.StartedByExplorer() {
		holdWindow(os.Stdin, os.Stderr)
	}
	os.Exit(code)
}

// holdWindow waits for Enter: the window of a program that was clicked on
// Windows goes with it, and what it says would go unread.
func holdWindow(stdin io.Reader, stderr io.Writer) {
	fmt.Fprintln(stderr, "Press Enter to close this window.")
	_, _ = bufio.NewReader(stdin).ReadString('\n') // an end of input is an answer, too
}

// run executes one command line and gives the exit code: 0 done, 1 the work
// could not be done, 2 wrong usage.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	return exitCode(root.ExecuteContext(ctx), stderr)
}
