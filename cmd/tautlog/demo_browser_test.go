package main

import (
	"bufio"
	"context"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/needs"
)

// startDemo runs the demo command as a person would and gives the address
// that it prints.
func startDemo(t *testing.T, flags ...string) (address string) {
	t.Helper()
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	out, said := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, append([]string{"demo", "--listen", "127.0.0.1:0", "--seed", "7"}, flags...), nil, said, os.Stderr)
		_ = said.Close()
	}()
	t.Cleanup(func() {
		stop()
		assert.Zero(t, <-ended, "the demo's exit code")
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if m := regexp.MustCompile(`http://\S+/line`).FindString(lines.Text()); m != "" {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return m
		}
	}
	require.Fail(t, "the demo printed no address")
	return ""
}

// TestDemoInBrowser is the main job from end to end: the demo command, its
// page in a real browser, nothing touched. A first pull of the simulated cell
// comes through the pseudo-terminal, is found, measured and judged.
func TestDemoInBrowser(t *testing.T) {
	if _, err := os.Stat("../../dashboards/web/dist/main.js"); err != nil {
		needs.Missing(t, "the script of the pages is not built: go generate ./...")
	}
	b := webtest.Start(t)
	b.Resize(webtest.Laptop())
	b.Open(startDemo(t))
	assert.Contains(t, b.Text(".madeup"), "Everything here is made up")
	begin := time.Now()
	b.Await(`document.querySelector('article.result[data-settled="true"]') !== null`)
	t.Logf("the first pull was found, measured, judged and settled %.1f s after the page was opened", time.Since(begin).Seconds())
	const result = `article.result[data-settled="true"]` // a further pull may have begun meanwhile
	assert.Regexp(t, `^\d+(\.\d+)? kN\s+\(true peak \d+(\.\d+)? to \d+(\.\d+)?\)$`, b.Text(result+" .peak"))
	assert.Regexp(t, `^\S.*: (inside rating|cannot be judged|over rating|not rated for this use|over breaking strength)\. `, b.Text(result+" .verdicts .weakest"))
	assert.Equal(t, int64(2), webtest.Eval[int64](b, `document.querySelector('`+result+`').querySelectorAll("svg.chain").length`), "the rig drawn for a wide and for a narrow screen")
	assert.Regexp(t, `times (\(.*\) )?the weight of`, b.Text(result+" .facts"))
	b.Shoot("demo-line-laptop")

	tour(t, b)
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers(), "a request left the machine")
}

// awaitThePast waits until the demonstration, which enters its past test days
// beside what it records, has kept its set of multipliers.
func awaitThePast(b *webtest.Browser, origin string) {
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); {
		b.Open(origin + "/multipliers")
		if strings.Contains(b.Text("h2"), "version 1") {
			return
		}
	}
}

// tour visits the other pages as they are after the first pull.
func tour(t *testing.T, b *webtest.Browser) {
	t.Helper()
	origin := webtest.Eval[string](b, "location.origin")
	b.Open(origin + "/pulls")
	assert.Positive(t, webtest.Eval[int64](b, `document.querySelectorAll(".rows li svg.chain-mini").length`))
	pull := webtest.Eval[string](b, `document.querySelector(".rows li a").getAttribute("href")`)
	awaitThePast(b, origin)
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		for name, path := range map[string]string{"first": "/", "line": "/line", "line-two": "/line?cell=River-2", "days": "/days", "day": "/days/" + time.Now().Format(time.DateOnly), "pulls": "/pulls", "pull": pull, "plan": "/plan", "multipliers": "/multipliers",
			"plan-kinetic": "/plan/kinetic?rig=Heron+pulls+Otter%2C+blue+strap&speed=8+km%2Fh&ground=wet+sand&resistance=19+kN&elongation=20%25",
			"next":         "/multipliers/next?limit=45kN", "gear": "/gear", "rigs": "/rigs", "cells": "/cells", "cell": "/cells/River-1", "points": "/cells/River-1/points"} {
			b.Open(origin + path)
			if name == "pull" || name == "line" || name == "line-two" {
				b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
			}
			if name == "cell" {
				b.Await(`document.querySelector('[data-points="54"]') !== null`)
				b.Await(`document.querySelector('[data-again$="/steady"]').textContent.includes("The cell reads")`)
			}
			if name == "multipliers" {
				b.Await(`document.querySelectorAll('[data-points]').length === 3`)
				assert.Contains(t, b.Text("h2"), "river bar, version 1, in use")
			}
			if name == "plan-kinetic" {
				assert.Contains(t, b.Text("#answer"), "river bar, version 1")
			}
			assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width, "%s sticks out on a %s", name, size.Name)
			b.Shoot("demo-" + name + "-" + size.Name)
		}
	}
}
