// Command handout builds the single-file programs that a club is given: one
// for each kind of computer, with the pages in it, and a list of their
// SHA-256 sums.
//
//	go generate ./... && go run ./cmd/handout -o DIRECTORY
//
// The same source and Go version give the same bytes.
package main

import (
	"context"
	"crypto/sha256"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
)

// target is a kind of computer.
type target struct {
	file     string
	os, arch string
	arm      string // GOARM
}

// targets are all that the programs are built for. The oldest single-board
// computers have ARM version 6; the same program runs on the later ones.
var targets = []target{
	{"tautlog-windows-amd64.exe", "windows", "amd64", ""},
	{"tautlog-windows-arm64.exe", "windows", "arm64", ""},
	{"tautlog-macos-arm64", "darwin", "arm64", ""},
	{"tautlog-macos-amd64", "darwin", "amd64", ""},
	{"tautlog-linux-amd64", "linux", "amd64", ""},
	{"tautlog-linux-arm64", "linux", "arm64", ""},
	{"tautlog-raspberry-pi-32bit", "linux", "arm", "6"},
}

// pages is made by go generate and put into every program.
const pages = "dashboards/web/dist/main.js"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "handout:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, stdout io.Writer) error {
	flags := flag.NewFlagSet("handout", flag.ContinueOnError)
	dir := flags.String("o", "", "`directory` for the programs; made when missing")
	only := flags.String("only", "", "build only what has this `word` in its name")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *dir == "" {
		return fmt.Errorf("name a directory for the programs: go run ./cmd/handout -o DIRECTORY")
	}
	if _, err := os.Stat(pages); err != nil {
		return fmt.Errorf("the pages are not built, and the programs would have none: run go generate ./... first, here at the top of the project")
	}
	if err := os.MkdirAll(*dir, 0o755); err != nil {
		return err
	}
	var sums strings.Builder
	for _, t := range targets {
		if !strings.Contains(t.file, *only) {
			continue
		}
		path := filepath.Join(*dir, t.file)
		if err := t.build(ctx, path); err != nil {
			return fmt.Errorf("%s: %w", t.file, err)
		}
		sum, size, err := sumOf(path)
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sum, t.file)
		fmt.Fprintf(stdout, "%s  %.1f MB\n", path, float64(size)/1e6)
	}
	return os.WriteFile(filepath.Join(*dir, "SHA256SUMS"), []byte(sums.String()), 0o644)
}

// build compiles for one kind of computer, without C and without paths of this
// one.
func (t target) build(ctx context.Context, path string) error {
	c := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags=-s -w", "-o", path, "./cmd/tautlog")
	c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+t.os, "GOARCH="+t.arch, "GOARM="+t.arm)
	c.Stderr = os.Stderr
	return c.Run()
}

func sumOf(path string) (sum []byte, size int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	h := sha256.New()
	size, err = io.Copy(h, f)
	return h.Sum(nil), size, err
}
