package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"

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
	opened opening
	demo   bool

	archive *archive.Carrier             // nil: nothing is ever pushed
	told    func() (archive.Told, error) // what is told of the archive now
	asTold  string                       // fileStamp of its files, as they were read
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
		group.Go(func() error {
			s.archive.Run(ctx)
			return nil
		})
		group.Go(func() error {
			rereadArchive(ctx, s.archive, s.store.Dir(), s.asTold, s.told)
			return nil
		})
	}
	if s.pages != nil {
		c := web.Config{Store: s.store, Recorder: recorder, Watcher: watcher, Log: s.log, Version: version(), Demo: s.demo, Archive: s.archive,
			Hosts: s.opened.hosts, Network: s.opened.network, Encrypted: s.opened.cert != nil, User: userHere(), MadeUp: isMadeUp}
		if !s.demo { // which is one
			sample := &sampleDay{log: s.log}
			defer sample.close()
			c.Sample = sample
		}
		handler, err := web.New(c)
		if err != nil {
			return fmt.Errorf("the pages could not be prepared: %w", err)
		}
		group.Go(func() error { return handler.Run(ctx) })
		group.Go(func() error { return web.Serve(ctx, s.pages, handler, s.opened.cert) })
	}
	return group.Wait()
}
