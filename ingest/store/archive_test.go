package store

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// archiveMachine drives a store and what an archive was given of it. The model
// of the archive is under which scale each reading was given last.
type archiveMachine struct {
	machine
	scale string
	from  int64            // from when on it differs from the one before
	given map[int64]string // by the scale of its time
}

const somewhere = "https://archive.example bucket river"

func (m *archiveMachine) cellThere(t *rapid.T) ArchivedCell {
	c, err := m.s.ArchiveCell(context.Background(), ArchivedCell{Archive: somewhere, Cell: m.cell, Station: "heron", Name: "a", Scale: m.scale})
	require.NoError(t, err)
	if c.Scale != m.scale {
		c, err = m.s.Rescale(context.Background(), c, m.scale, m.from)
		require.NoError(t, err)
	}
	return c
}

// portionOf gives readings up to, not including, until: the next ones of a
// stretch, at most so many.
func (m *archiveMachine) portionOf(from, to int64, most int) (part []reading, until int64) {
	part = slices.Clone(within(m.want, from, to))
	if len(part) > most {
		return part[:most], part[most-1].at + 1
	}
	if to == math.MaxInt64 && len(part) > 0 {
		to = part[len(part)-1].at + 1
	}
	return part, to
}

// push gives the archive what is next, as a pusher does. Readings may be added
// between its reading and its noting.
func (m *archiveMachine) push(t *rapid.T, most int, between func(*rapid.T)) (more bool) {
	ctx := context.Background()
	c := m.cellThere(t)
	part, until := m.portionOf(c.Until, math.MaxInt64, most)
	if len(part) > 0 {
		between(t)
		m.give(part)
		_, err := m.s.Pushed(ctx, c, until, nil)
		require.NoError(t, err)
		return true
	}
	stretches, err := m.s.ArchiveStretches(ctx, c, false)
	require.NoError(t, err)
	if len(stretches) == 0 {
		return false
	}
	part, until = m.portionOf(stretches[0].From, stretches[0].To, most)
	between(t)
	m.give(part)
	require.NoError(t, m.s.PushedAgain(ctx, c, stretches[0], until, nil))
	return true
}

func (m *archiveMachine) give(part []reading) {
	for _, r := range part {
		m.given[r.at] = m.scale
	}
}

// missing is what the archive has not, or not as it is now.
func (m *archiveMachine) missing() (n int) {
	for _, r := range m.want {
		if m.given[r.at] == "" {
			n++
		}
	}
	return n
}

// correct changes the calibration from a moment on.
func (m *archiveMachine) correct(t *rapid.T) {
	m.cellThere(t)
	m.scale += "."
	m.from, _ = m.window(t)
	for at := range m.given {
		if at >= m.from {
			delete(m.given, at)
		}
	}
	m.cellThere(t)
}

func (m *archiveMachine) checkState(t *rapid.T) {
	m.cellThere(t)
	s, err := m.s.ArchiveState(context.Background(), somewhere)
	require.NoError(t, err)
	require.GreaterOrEqual(t, s.Readings, m.missing(), "fewer are said to wait than do")
	from, to := m.window(t)
	n, first, err := m.s.Count(context.Background(), m.cell, from, to)
	require.NoError(t, err)
	want := within(m.want, from, to)
	require.Equal(t, len(want), n)
	if n > 0 {
		require.Equal(t, want[0].at, first)
	}
}

// TestWhateverHappensEverythingIsPushed appends in and out of order, folds,
// reopens, corrects the calibration, and pushes in between, and while
// readings are being added. In the end the archive has every reading under the
// last calibration, and nothing is said to be missing.
func TestWhateverHappensEverythingIsPushed(t *testing.T) {
	t.Parallel()
	root, count := t.TempDir(), 0
	rapid.Check(t, func(t *rapid.T) {
		count++
		m := &archiveMachine{given: map[int64]string{}, scale: "[0,1]"}
		m.dir, m.o = filepath.Join(root, fmt.Sprint(count)), Options{foldReadings: 2000, foldTails: 40}
		m.open(t)
		defer func() { _ = m.s.Close() }()
		c, err := m.s.SaveCell(context.Background(), Cell{Name: "a"})
		require.NoError(t, err)
		m.cell = c.ID
		t.Repeat(map[string]func(*rapid.T){
			"append": m.append, "fold": m.fold, "reopen": m.reopen, "state": m.checkState,
			"correct":     m.correct,
			"push":        func(t *rapid.T) { m.push(t, 500, func(*rapid.T) {}) },
			"push beside": func(t *rapid.T) { m.push(t, 500, m.append) },
		})
		for m.push(t, 5000, func(*rapid.T) {}) {
		}
		require.Zero(t, m.missing())
		s, err := m.s.ArchiveState(context.Background(), somewhere)
		require.NoError(t, err)
		require.Zero(t, s.Readings)
		require.NoError(t, m.s.Integrity(context.Background()))
	})
}

func TestRefusedStretches(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	require.NoError(t, s.Append(ctx, []Run{{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 1000)}}))
	c, err := s.ArchiveCell(ctx, ArchivedCell{Archive: somewhere, Cell: cell, Station: "heron", Name: "a", Scale: "[0,1]"})
	require.NoError(t, err)
	at := func(i int64) int64 { return morning + i*1e6 }
	c, err = s.Pushed(ctx, c, at(200), []ArchiveStretch{{From: at(100), To: at(200), Refusal: "full"}})
	require.NoError(t, err)
	c, err = s.Pushed(ctx, c, at(300), []ArchiveStretch{{From: at(200), To: at(300), Refusal: "full"}})
	require.NoError(t, err)
	_, err = s.Pushed(ctx, c, at(1000), nil)
	require.NoError(t, err)
	refused, err := s.ArchiveStretches(ctx, c, true)
	require.NoError(t, err)
	require.Len(t, refused, 1, "stretches with one refusal that follow each other are one")
	assert.Equal(t, []int64{at(100), at(300)}, []int64{refused[0].From, refused[0].To})
	state, err := s.ArchiveState(ctx, somewhere)
	require.NoError(t, err)
	assert.Equal(t, []any{200, 200, "full"}, []any{state.Readings, state.Refused, state.Failure})
	require.NoError(t, s.PushedAgain(ctx, c, refused[0], at(300), nil))
	state, err = s.ArchiveState(ctx, somewhere)
	require.NoError(t, err)
	assert.Zero(t, state.Readings)
}

func TestNamesInAnArchive(t *testing.T) {
	t.Parallel()
	s, one := openNew(t)
	ctx := t.Context()
	two, err := s.SaveCell(ctx, Cell{Name: "two"})
	require.NoError(t, err)
	none, err := s.Station(ctx, "")
	require.NoError(t, err)
	assert.Empty(t, none)
	for _, proposal := range []string{"heron", "otter", ""} {
		name, err := s.Station(ctx, proposal)
		require.NoError(t, err)
		assert.Equal(t, "heron", name, "the first name stays")
	}
	a := ArchivedCell{Archive: somewhere, Cell: one, Station: "heron", Name: "River-1", Scale: "[0,1]"}
	got, err := s.ArchiveCell(ctx, a)
	require.NoError(t, err)
	assert.Equal(t, "River-1", got.Name)
	a.Cell = two.ID
	got, err = s.ArchiveCell(ctx, a)
	require.NoError(t, err)
	assert.Equal(t, "River-1 2", got.Name, "two cells are never one")
	a.Cell = 99
	_, err = s.ArchiveCell(ctx, a)
	require.Error(t, err)
}

// TestOnePushesAtATime waits for another that pushes.
func TestOnePushesAtATime(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	unlock, err := s.LockArchive(t.Context(), func() { t.Error("nobody else is there") })
	require.NoError(t, err)
	waiting, got := make(chan struct{}), make(chan error)
	go func() {
		second, err := s.LockArchive(t.Context(), func() { close(waiting) })
		if err == nil {
			err = second()
		}
		got <- err
	}()
	<-waiting
	select {
	case <-got:
		t.Error("two at a time")
	default:
	}
	require.NoError(t, unlock())
	require.NoError(t, <-got)
	ctx, cancel := context.WithCancel(t.Context())
	unlock, err = s.LockArchive(ctx, func() {})
	require.NoError(t, err)
	_, err = s.LockArchive(ctx, cancel)
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, unlock())
}
