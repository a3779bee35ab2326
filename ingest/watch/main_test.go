package watch

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"testing"
	"time"

	"go.uber.org/goleak"

	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// The environment that makes the test binary a daemon of its own.
const (
	daemonStore = "TAUTLOG_TEST_STORE"
	daemonLine  = "TAUTLOG_TEST_LINE"
	witnessFile = "TAUTLOG_TEST_WITNESS" // or a witness that writes this file
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(daemonStore); dir != "" {
		if err := daemon(dir, os.Getenv(daemonLine)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	if file := os.Getenv(witnessFile); file != "" {
		if err := look(file); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	goleak.VerifyTestMain(m)
}

// look writes a byte to a file all the time until standard input ends, and prints
// "stood" with the moments from which and to which that stood still.
func look(file string) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	defer f.Close()
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_, _ = io.Copy(io.Discard, os.Stdin)
	}()
	pace := time.NewTicker(25 * time.Millisecond)
	defer pace.Stop()
	for last := time.Now(); ; {
		select {
		case <-ended:
			return nil
		case <-pace.C:
		}
		if _, err := f.WriteAt([]byte("x"), 0); err != nil {
			return err
		}
		if err := f.Sync(); err != nil {
			return err
		}
		now := time.Now()
		if now.Sub(last) > 75*time.Millisecond {
			fmt.Println("stood", last.UnixNano(), now.UnixNano())
		}
		last = now
	}
}

// daemon records and watches one cell until standard input ends. It prints
// "up" and the time whenever the line was opened.
func daemon(dir, line string) error {
	s, err := store.Open(dir, store.Options{})
	if err != nil {
		return err
	}
	defer s.Close()
	cell, err := s.SaveCell(context.Background(), packedCell(line))
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		stop()
	}()
	return recordAndWatch(ctx, s, cell, func(*record.Recorder, *Watcher) {}, func(a record.Announcement) {
		if a.Status != nil && a.Status.Up {
			fmt.Println("up", a.Status.Since.UnixNano())
		}
	})
}

// recordAndWatch runs a recorder and a watcher until ctx ends. Made is called
// before they run.
func recordAndWatch(ctx context.Context, s *store.Store, cell store.Cell, made func(*record.Recorder, *Watcher), seen func(record.Announcement)) error {
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))
	r := record.New(record.Config{Store: s, Cells: []store.Cell{cell}, Log: log})
	w := New(Config{Store: s, Recorder: r, Cells: []store.Cell{cell}, Log: log})
	defer r.Observe(seen)()
	made(r, w)
	recorded := make(chan error, 1)
	go func() { recorded <- r.Run(ctx) }()
	err := w.Run(ctx)
	if e := <-recorded; e != nil {
		return e
	}
	return err
}

// packedCell sends packed frames at 1 kHz. A reading holds the force in
// newtons above indexBits bits that hold its index, so that each is like no
// other.
func packedCell(line string) store.Cell {
	return store.Cell{
		Name: "River-1", Line: port.Line{Path: line}, Rate: 1000, Capacity: 32000,
		Wire:  wire.Config{Format: wire.Packed},
		Curve: calibrate.Curve{Coefficients: []float64{0, 1.0 / (1 << indexBits)}},
	}
}

const (
	indexBits = 16
	indexMask = 1<<indexBits - 1
)
