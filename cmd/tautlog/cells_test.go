//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

func tautlog(t *testing.T, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	return tautlogUntil(t.Context(), args...)
}

// tautlogUntil runs a command that somebody ends with Ctrl-C.
func tautlogUntil(ctx context.Context, args ...string) (code int, stdout, stderr string) {
	var out, remarks bytes.Buffer
	code = run(ctx, args, strings.NewReader(""), &out, &remarks)
	return code, out.String(), remarks.String()
}

// hear listens to an instrument until all that it sends was heard.
func hear(t *testing.T, in *needs.Amplifier, args ...string) (out, remarks string) {
	t.Helper()
	ctx, heard := context.WithCancel(t.Context())
	go func() {
		<-in.Ended()
		heard()
	}()
	code, out, remarks := tautlogUntil(ctx, append([]string{"cells", "--listen", in.Link, "--for", "3m"}, args...)...)
	require.Zero(t, code, remarks)
	return out, remarks
}

func TestCellsHearsFrames(t *testing.T) {
	t.Parallel()
	in := needs.Sender(t, filepath.Join(t.TempDir(), "cell"), "--rate", "1000", "--per-frame", "10", "--count", "3000", "--linger", "60")
	out, remarks := hear(t, in, "--json")
	assert.Equal(t, "listening to "+in.Link+" at 115200 baud for 3m0s\n", remarks)
	var got hearingRecord
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.Equal(t, wire.Packed, got.Format)
	require.Len(t, got.Proposals, 1)
	assert.Equal(t, wire.Config{Format: wire.Packed}, got.Proposals[0].Config)
	assert.Zero(t, got.Proposals[0].Stats.Rejected)
	sent := in.Truth()
	took := sent[len(sent)-1].At.Sub(sent[0].At) // 3 s, or more on a busy machine
	assert.InEpsilon(t, 3000/took.Seconds(), got.Proposals[0].PerS, 0.2)
	assert.Contains(t, got.Proposals[0].Reasons, "the frames say one reading every 1000 µs, 1000 a second")
	require.Len(t, got.Sent, 8)
	assert.Regexp(t, `^[0-9a-f]{2}( [0-9a-f]{2})+( …)?$`, got.Sent[0])
}

func TestCellsHearsLines(t *testing.T) {
	t.Parallel()
	in := needs.Sender(t, filepath.Join(t.TempDir(), "cell"), "--format", "text", "--rate", "200", "--noise", "9", "--zero", "70", "--count", "300", "--linger", "60")
	out, _ := hear(t, in)
	assert.Contains(t, out, "the latest lines:\n    ")
	assert.Contains(t, out, "1. lines of text: field 3 is the reading in counts; field 1 counts the lines; field 2 is the instrument's time in microseconds; 3 fields a line\n")
	assert.Contains(t, out, `as a setting: {"format":"text","text":{"column":3,"unit":"counts","decimals":0,"fields":3,"tick_column":2,"tick_scale":1,"seq_column":1}}`)
	assert.Contains(t, out, "put a known load on the cell")
}

// A program that writes what is neither: the sizes of a wrong rate.
func TestCellsHearsNoise(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	link, file := filepath.Join(dir, "cell"), filepath.Join(dir, "noise")
	require.NoError(t, os.WriteFile(file, bytes.Repeat([]byte{0xff, 0x81, 0xc2, 3, 0x80, 0x80}, 50), 0o600))
	needs.Instrument(t, link, needs.Program(t, "socat", "socat"), "-u", "OPEN:"+file+",ignoreeof", "pty,raw,echo=0,link="+link)
	code, out, remarks := tautlog(t, "cells", "--listen", link, "--for", "3s", "--baud", "9600")
	require.Zero(t, code, remarks)
	assert.Contains(t, out, "ff 81 c2 03 80 80")
	assert.Contains(t, out, "try another --baud")
}

func TestCellsHearsNothing(t *testing.T) {
	t.Parallel()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	defer master.Close()
	require.NoError(t, slave.Close())
	code, out, remarks := tautlog(t, "cells", "--listen", slave.Name(), "--for", "100ms", "--json")
	assert.Equal(t, 1, code)
	assert.Empty(t, out)
	assert.Contains(t, remarks, "tautlog: "+slave.Name()+" is open at 115200 baud but sent nothing in 100ms: check")
}

func TestCellsList(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	require.NoError(t, writePorts(&out, nil, nil))
	assert.Equal(t, "there is no serial port on this computer: plug in the cell's amplifier or its USB adapter and look again\n", out.String())
	out.Reset()
	denied := &port.Problem{Line: port.Line{Path: "/dev/ttyX1"}, Kind: port.Denied, Err: errors.New("x")}
	require.NoError(t, writePorts(&out, nil, denied))
	assert.Equal(t, "no serial port is open to you; no permission to open /dev/ttyX1: add yourself to the dialout group (sudo usermod -aG dialout $USER) and log in again\n", out.String())
	out.Reset()
	require.NoError(t, writePorts(&out, []port.Info{
		{Path: "/dev/ttyX1", USB: "1234:abcd", Description: "Serial adapter", Serial: "42", Stable: "/dev/serial/by-id/x", Problem: denied.Error()},
		{Path: "/dev/ttyX0"},
	}, denied))
	assert.Equal(t, `/dev/ttyX1
    Serial adapter, USB 1234:abcd, serial number 42
    keeps the name /dev/serial/by-id/x
    no permission to open /dev/ttyX1: add yourself to the dialout group (sudo usermod -aG dialout $USER) and log in again
/dev/ttyX0

see what one sends: tautlog cells --listen /dev/ttyX1
`, out.String())
}
