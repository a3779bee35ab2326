package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// loads is a simulated cell on a pseudo-terminal, set up in a store. What hangs
// on it hangs until something else is hung on it, however long a test takes.
type loads struct {
	cell    rehearse.Cell
	devices string // directory of the device
	store   string // directory of the store
	session *rehearse.Session
}

// nothingHangs sets the cell up and powers it up with a slack line.
func nothingHangs(t *testing.T) *loads {
	t.Helper()
	l := &loads{devices: t.TempDir(), store: t.TempDir(), cell: rehearse.Cell{
		Name: "River-1", Capacity: 100e3, Rate: 500, Curve: calibrate.Curve{Coefficients: []float64{-3200, 4}},
		Wire: wire.Config{Format: wire.Packed}, Noise: 15,
	}}
	l.power(t, rehearse.Pulls())
	t.Cleanup(func() { l.session.Close() })
	db, err := store.Open(l.store, store.Options{})
	require.NoError(t, err)
	_, err = db.SaveCell(t.Context(), store.Cell{Name: "River-1", Wire: l.cell.Wire, Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100e3, Rate: 500, Line: l.session.Line()})
	require.NoError(t, err)
	require.NoError(t, db.Close())
	return l
}

// hang changes the load, for which the amplifier is switched off and on.
func (l *loads) hang(t *testing.T, level unit.Force) {
	t.Helper()
	require.NoError(t, l.session.Close())
	l.power(t, rehearse.Pulls(rehearse.Pull{Name: "load", Shape: rehearse.Steady{Level: level, Ramp: 0.5, Work: 3600, Release: 0.5}}))
}

func (l *loads) power(t *testing.T, script rehearse.Script) {
	t.Helper()
	var err error
	l.session, err = rehearse.Start(t.Context(), rehearse.Options{Cell: l.cell, Script: script, Seed: 5, Dir: l.devices})
	require.NoError(t, err)
}

// talk is what a person types, and what they are told, as it comes.
type talk struct {
	mu   sync.Mutex
	said bytes.Buffer
}

// Write takes what is said.
func (k *talk) Write(b []byte) (int, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.said.Write(b)
}

func (k *talk) count(what string) int { return strings.Count(k.all(), what) }

func (k *talk) all() string {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.said.String()
}

// Points are taken as loads hang on a cell at a port, one is taken back, and what
// is kept gives the true curve; a check of the slack line then holds it against
// that.
func TestPointsAreTakenLive(t *testing.T) {
	t.Parallel()
	l := nothingHangs(t)
	dir := l.store
	in, typed := io.Pipe()
	var out talk
	ended := make(chan int, 1)
	go func() {
		ended <- run(t.Context(), []string{"calibrate", "--live", "--degree", "1", "--data", dir, "--port", l.session.Path, "--by", "A. Keeper"}, in, &out, &out)
	}()
	say := func(line, answer string) {
		t.Helper()
		before := out.count(answer)
		_, err := io.WriteString(typed, line+"\n")
		require.NoError(t, err)
		if !assert.Eventually(t, func() bool { return out.count(answer) > before }, needs.Patience, 20*time.Millisecond, line) {
			t.Fatal(out.all())
		}
	}
	say("0N", "Taken: ")
	say("5kN", "was the load changed?")
	say("nonsense", "is not understood")
	l.hang(t, 20e3)
	say("20kN", "Taken: ")
	say("undo", "1 point;")
	say("20kN", "Taken: ")
	say("save", "Not saved")
	l.hang(t, 40e3)
	say("40kN", "Taken: ")
	say("save", "Cell River-1: kept.")
	require.Equal(t, 0, <-ended, out.all())

	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	cell, err := db.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	kept, err := db.Calibrations(t.Context(), cell.ID)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	assert.InDelta(t, -3200, kept[0].Curve.Coefficients[0], 30)
	assert.InDelta(t, 4, kept[0].Curve.Coefficients[1], 0.01)
	assert.Equal(t, "A. Keeper", kept[0].Who)
	draft, err := db.Draft(t.Context(), cell.ID)
	require.NoError(t, err)
	assert.Empty(t, draft.Points)
	require.NoError(t, db.Close())
}

// The line is slack: the check says by how much the cell is off and keeps that; a
// zero then takes it off.
func TestTheSlackLineIsCheckedAndZeroed(t *testing.T) {
	t.Parallel()
	l := nothingHangs(t)
	dir := l.store
	ask := func(args ...string) string {
		t.Helper()
		var out bytes.Buffer
		require.Equal(t, 0, run(t.Context(), append([]string{"calibrate", "--data", dir, "--json"}, args...), strings.NewReader(""), &out, &out), out.String())
		return out.String()
	}
	ask("--save", "--curve", "-3000,4", "--certificate", "LF-7", "--certificate-uncertainty", "50N", "--from", "2026-01-01")
	var checked checkRecord
	require.NoError(t, json.Unmarshal([]byte(ask("--check", "0N", "--port", l.session.Path)), &checked))
	assert.True(t, checked.Fault)
	assert.InDelta(t, 200, checked.Off, 30)
	assert.Contains(t, checked.Says, "a fault of the cell")
	var zero calibrate.Zero
	require.NoError(t, json.Unmarshal([]byte(ask("--zero", "--port", l.session.Path, "--by", "A. Keeper")), &zero))
	assert.InDelta(t, 800, zero.Reading, 5)
	assert.Equal(t, "A. Keeper", zero.Who)

	var out bytes.Buffer
	ctx, cancel := context.WithTimeout(t.Context(), needs.Patience)
	defer cancel()
	require.Equal(t, 1, run(ctx, []string{"calibrate", "--check", "0N", "--data", dir, "--wait", "1s"}, strings.NewReader(""), &out, &out))
	assert.Contains(t, out.String(), "see that it is plugged in and recorded")
}
