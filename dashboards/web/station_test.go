package web_test

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"tautlog/dashboards/web"
	"tautlog/ingest/needs"
	"tautlog/ingest/record"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/watch"
)

// station is the daemon as it runs: a simulated cell that writes to a
// pseudo-terminal, the recorder that reads it, the watcher, and the pages on
// a port of this machine.
type station struct {
	store *store.Store
	cell  store.Cell // the first of cells
	cells []store.Cell
	addr  string
	pages http.Handler
	stop  func()

	benches  []rehearse.Bench
	devices  string // directory of the simulated cells
	sessions []*rehearse.Session
	pulling  atomic.Bool // the one pull of the cells may begin
}

// newStation powers up the first bench of the invented world with the first of
// its pulls, which waits for pull, its rig in force, and beside it cells of these
// names that see the same.
func newStation(t *testing.T, more ...string) *station {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	st := &station{store: s, devices: t.TempDir()}
	bench := rehearse.NewWorld().Benches[0]
	for _, name := range append([]string{bench.Cell.Name}, more...) {
		bench := bench
		bench.Cell.Name = name
		st.plug(t, bench)
	}
	st.cell = st.cells[0]
	st.rig(t, bench)
	st.start(t, needs.Address(t)) // one to come back at
	t.Cleanup(func() { st.stop() })
	return st
}

// plug starts the simulated cell of a bench.
func (st *station) plug(t *testing.T, bench rehearse.Bench) {
	t.Helper()
	session := st.power(t, bench)
	c, err := st.store.SaveCell(t.Context(), store.Cell{
		Name: bench.Cell.Name, Line: session.Line(), Wire: bench.Cell.Wire, Curve: bench.Cell.Curve,
		Capacity: bench.Cell.Capacity, Rate: bench.Cell.Rate, LagSeconds: bench.Cell.Lag,
	})
	require.NoError(t, err)
	st.benches, st.sessions, st.cells = append(st.benches, bench), append(st.sessions, session), append(st.cells, c)
}

func (st *station) power(t *testing.T, bench rehearse.Bench) *rehearse.Session {
	t.Helper()
	first, ok := bench.Script(0)
	require.True(t, ok)
	first.At = 0
	session, err := rehearse.Start(context.WithoutCancel(t.Context()), rehearse.Options{
		Cell: bench.Cell, Script: rehearse.After(st.pulling.Load, rehearse.Pulls(first)), Seed: 7, Dir: st.devices,
	})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, session.Close()) })
	if !session.Real() {
		t.Log(session.Note())
	}
	return session
}

// pull has the cells pulled at now.
func (st *station) pull() { st.pulling.Store(true) }

// unplug pulls the plug of the first cell until replug.
func (st *station) unplug(t *testing.T) {
	t.Helper()
	if !st.sessions[0].Real() {
		t.Skip("only a device of the system can be plugged in again")
	}
	require.NoError(t, st.sessions[0].Close())
}

func (st *station) replug(t *testing.T) {
	t.Helper()
	st.sessions[0] = st.power(t, st.benches[0])
}

// rig puts the bench's rig in force.
func (st *station) rig(t *testing.T, bench rehearse.Bench) {
	t.Helper()
	for _, r := range rehearse.NewWorld().Rigs {
		saved, err := st.store.SaveRig(t.Context(), document(r))
		require.NoError(t, err)
		if r.ID == bench.Rig {
			_, err = st.store.SetSetup(t.Context(), store.Setup{Cell: st.cell.ID, Rig: saved.ID, Ground: bench.Ground})
			require.NoError(t, err)
		}
	}
}

func document[T any](v T) store.Document[T] { return store.Document[T]{Value: v} }

// start runs recorder, watcher and pages; stop ends them and waits.
func (st *station) start(t *testing.T, addr string) {
	t.Helper()
	recorder := record.New(record.Config{Store: st.store, Cells: st.cells, Follow: rehearse.Follow(st.sessions...)})
	watcher := watch.New(watch.Config{Store: st.store, Recorder: recorder, Cells: st.cells})
	pages, err := web.New(web.Config{Store: st.store, Recorder: recorder, Watcher: watcher, Zone: time.UTC, Demo: true, Network: netip.MustParseAddrPort(opened)})
	require.NoError(t, err)
	st.pages = pages
	ln, err := net.Listen("tcp", addr)
	require.NoError(t, err)
	st.addr = ln.Addr().String()
	ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error { return recorder.Run(ctx) })
	group.Go(func() error { return watcher.Run(ctx) })
	group.Go(func() error { return web.Serve(ctx, ln, pages, nil) })
	stopped := false
	st.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		assert.NoError(t, group.Wait())
	}
}

func (st *station) url(path string) string { return "http://" + st.addr + path }
