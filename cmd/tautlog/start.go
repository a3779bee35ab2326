package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/cli/browser"
	"github.com/spf13/cobra"

	"tautlog/ingest/store"
)

// start is what the program does without a command, as when its file is
// clicked: serve, with the pages opened in the browser.
func start(c *cobra.Command, _ []string) error {
	serve, _, err := c.Root().Find([]string{"serve"})
	if err != nil {
		return err
	}
	serve.SetContext(c.Context())
	if err := serve.ParseFlags([]string{"--open"}); err != nil {
		return err
	}
	fmt.Fprintln(c.OutOrStdout(), "All commands: tautlog --help")
	return serve.RunE(serve, nil)
}

// openPages shows an address in the browser of the person who sits here. A
// computer without one is no fault: the address is printed as well.
func openPages(address string, remarks io.Writer) {
	browser.Stdout, browser.Stderr = io.Discard, io.Discard
	if err := browser.OpenURL(address); err != nil {
		fmt.Fprintf(remarks, "No browser could be opened here (%v): open %s yourself.\n", err, address)
	}
}

// running tells whether serveErr says that a daemon has the store already, and
// its pages answer at the usual address.
func running(ctx context.Context, serveErr error) bool {
	if !errors.Is(serveErr, store.ErrLocked) {
		return false
	}
	ctx, stop := context.WithTimeout(ctx, 2*time.Second)
	defer stop()
	ask, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+defaultListen+"/", nil)
	if err != nil {
		return false
	}
	answer, err := http.DefaultClient.Do(ask)
	if err != nil {
		return false
	}
	defer answer.Body.Close()
	page, err := io.ReadAll(io.LimitReader(answer.Body, 1<<16))
	return err == nil && bytes.Contains(page, []byte("tautlog"))
}
