//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
)

// A cell that stands alone is heard and set up as a real one is.
func TestDemoCellOnly(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	says, out := io.Pipe()
	var stderr bytes.Buffer
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"demo", "--cell-only"}, nil, out, &stderr)
		out.Close()
	}()
	lines := bufio.NewScanner(says)
	require.True(t, lines.Scan(), stderr.String())
	require.True(t, lines.Scan())
	port := lines.Text()
	go io.Copy(io.Discard, says) //nolint:errcheck // the rest of what it says

	data := t.TempDir()
	code, heard, remarks := tautlog(t, "cells", "--listen", port, "--for", "2s", "--curve", "0,1", "--save", "River-1", "--data", data)
	require.Equal(t, 0, code, remarks)
	assert.Contains(t, heard, "1000 a second")
	assert.Contains(t, strings.ToLower(heard+remarks), "river-1")

	stop()
	select {
	case code := <-ended:
		assert.Equal(t, 0, code, stderr.String())
	case <-time.After(needs.Patience):
		t.Fatal("it does not stop")
	}
}
