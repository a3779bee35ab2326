package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"

	"golang.org/x/sync/errgroup"

	"tautlog/dashboards/web"
	"tautlog/ingest/archive"
	"tautlog/ingest/port"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
	"tautlog/ingest/watch"
)

// station is a running daemon: store, recorder, watcher and, unless it is
// headless, the pages.
type station struct {
	store  *store.Store
	cells  []store.Cell
	log    *slog.Logger
	follow func(context.Context, port.Line, func(port.Event)) error // nil: port.Follow
	pages  net.Listener                                             // nil: headless
	demo   bool

	archive *archive.Server // nil: none is told
}

// run records and serves until ctx ends; when it returns everything recorded
// is on disk.
func (s *station) run(ctx context.Context) error {
	recorder := record.New(record.Config{Store: s.store, Cells: s.cells, Log: s.log, Follow: s.follow})
	watcher := watch.New(watch.Config{Store: s.store, Recorder: recorder, Cells: s.cells, Log: s.log})
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error { return recorder.Run(ctx) })
	group.Go(func() error { return watcher.Run(ctx) })
	if s.archive != nil {
		pusher := archive.NewPusher(archive.Config{Store: s.store, Server: s.archive, Log: s.log})
		group.Go(func() error {
			pusher.Follow(ctx, archive.Pace{})
			return nil
		})
	}
	if s.pages != nil {
		handler, err := web.New(web.Config{Store: s.store, Recorder: recorder, Watcher: watcher, Log: s.log, Demo: s.demo})
		if err != nil {
			return fmt.Errorf("the pages could not be prepared: %w", err)
		}
		group.Go(func() error { return web.Serve(ctx, s.pages, handler) })
	}
	return group.Wait()
}

// listenPages opens addr for the pages; where it is taken and another will do,
// any free port.
func listenPages(addr string, another bool) (net.Listener, error) {
	l, err := listenLoopback(addr)
	if _, wrong := errors.AsType[usageError](err); err == nil || wrong || !another {
		return l, err
	}
	return listenLoopback("127.0.0.1:0")
}

// listenLoopback opens addr for the pages. Anything but this machine itself is
// refused: the pages have no sign-in.
func listenLoopback(addr string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, usagef("--listen %q: write ADDRESS:PORT, for example 127.0.0.1:8480", addr)
	}
	if ip, err := netip.ParseAddr(host); host != "localhost" && (err != nil || !ip.IsLoopback()) {
		return nil, usagef("--listen %q: the pages have no sign-in, so they are shown on this machine only: use 127.0.0.1 or [::1]", addr)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("the pages cannot be shown at %s: %w; choose another port with --listen", addr, err)
	}
	return l, nil
}
