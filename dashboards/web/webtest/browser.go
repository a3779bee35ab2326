// Package webtest looks at the pages with a real browser. It is for tests
// only: nothing that the program runs imports it.
package webtest

import (
	"context"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tautlog/ingest/needs"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Size is a screen.
type Size struct {
	Name          string
	Width, Height int64
}

// Phone and Laptop are the two screens that every page is looked at on.
func Phone() Size { return Size{"phone", 390, 844} }

// Laptop is the screen in the back of a truck.
func Laptop() Size { return Size{"laptop", 1366, 768} }

// Browser is one Chromium with one page open.
type Browser struct {
	t    testing.TB
	ctx  context.Context
	mu   sync.Mutex
	bad  []string // errors that the page's script threw or logged
	away []string // addresses asked for that are not of this machine
}

// Start runs Chromium until the test ends.
func Start(t testing.TB) *Browser {
	t.Helper()
	path := find()
	if path == "" {
		needs.Missing(t, "no Chromium: apt-get install chromium, or set TAUTLOG_CHROMIUM to its path")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.WSURLReadTimeout(needs.Patience), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("hide-scrollbars", true), chromedp.Flag("disable-audio-output", true), chromedp.WindowSize(1366, 768))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	b := &Browser{t: t}
	var leave context.CancelFunc
	b.ctx, leave = chromedp.NewContext(alloc, chromedp.WithListener(b.hear))
	t.Cleanup(leave)
	require.NoError(t, chromedp.Do(b.ctx, enableEvents()), "Chromium did not start")
	return b
}

func find() string {
	for _, p := range []string{os.Getenv("TAUTLOG_CHROMIUM"), "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"} {
		if _, err := os.Stat(p); p != "" && err == nil {
			return p
		}
	}
	return ""
}

func enableEvents() chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
		return err
	})
}

// hear notes what must not happen on any page.
func (b *Browser) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		b.bad = append(b.bad, e.ExceptionDetails.Text+" "+describe(e.ExceptionDetails.Exception))
	case *network.EventRequestWillBeSent:
		u, err := url.Parse(e.Request.URL)
		if err != nil || (u.Scheme != "data" && u.Scheme != "about" && u.Hostname() != "127.0.0.1" && u.Hostname() != "localhost") {
			b.away = append(b.away, e.Request.URL)
		}
	}
}

func describe(o *runtime.RemoteObject) string {
	if o == nil {
		return ""
	}
	return o.Description
}

// within gives a context for one step of a test. How long a step may take is no
// claim about the program: it only ends a test that waits in vain.
func (b *Browser) within() (context.Context, context.CancelFunc) {
	return context.WithTimeout(b.ctx, needs.Patience)
}

// do takes one step of a test, and says which one failed.
func (b *Browser) do(step chromedp.Action[chromedp.Void], say string, args ...any) {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	require.NoError(b.t, chromedp.Do(ctx, step), append([]any{say}, args...)...)
}

// Resize shows the page on another screen.
func (b *Browser) Resize(s Size) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(s.Width, s.Height), "resize to %s", s.Name)
}

// Open loads an address and waits until it is there.
func (b *Browser) Open(address string) {
	b.t.Helper()
	b.do(chromedp.Navigate(address), "open %s", address)
}

// Before runs a script in every page that is opened from now on, before any of
// its own.
func (b *Browser) Before(script string) {
	b.t.Helper()
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	}), "run a script before every page")
}

// Type presses the keys of text in the field that a CSS selector finds, in
// place of what stands there. "\r" is the Enter key.
func (b *Browser) Type(selector, text string) {
	b.t.Helper()
	b.awaitElement(selector)
	ready := Eval[bool](b, `(() => { const e = document.querySelector(`+quote(selector)+`); e.focus(); e.select(); return document.activeElement === e; })()`)
	require.True(b.t, ready, "nobody can type into %s", selector)
	b.do(chromedp.KeyEvent(text), "type into %s", selector)
}

// Download lets pages save files into a directory.
func (b *Browser) Download(dir string) {
	b.t.Helper()
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir})
		return err
	}), "save files into %s", dir)
}

// ChooseFile chooses a file for the field that a CSS selector finds.
func (b *Browser) ChooseFile(selector, path string) {
	b.t.Helper()
	b.awaitElement(selector)
	b.do(chromedp.SetUploadFiles(chromedp.CSS(selector), []string{path}), "choose a file for %s", selector)
}

// Press presses keys, wherever the focus is. "\t" is the Tab key.
func (b *Browser) Press(keys string) {
	b.t.Helper()
	b.do(chromedp.KeyEvent(keys), "press %q", keys)
}

// Choose picks an option of a list, as a person's choice does.
func (b *Browser) Choose(selector, value string) {
	b.t.Helper()
	b.awaitElement(selector)
	found := Eval[bool](b, `(() => { const s = document.querySelector(`+quote(selector)+`); s.value = `+quote(value)+
		`; s.dispatchEvent(new Event("change", { bubbles: true })); return s.value === `+quote(value)+`; })()`)
	require.True(b.t, found, "%s has no choice %q", selector, value)
}

// awaitElement waits for an element of a page that is still coming.
func (b *Browser) awaitElement(selector string) {
	b.t.Helper()
	b.Await(`document.querySelector(` + quote(selector) + `) !== null`)
}

// Await waits until a JavaScript expression is true, also across pages that
// load meanwhile.
func (b *Browser) Await(expression string) {
	b.t.Helper()
	b.until(expression, func(ctx context.Context) error {
		yes, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression))
		if err == nil && !yes {
			return errNotYet
		}
		return err
	})
}

var errNotYet = errors.New("it is not so")

// until looks at the page again and again until nothing hinders any more.
func (b *Browser) until(what string, hinders func(context.Context) error) {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	again := time.NewTicker(25 * time.Millisecond)
	defer again.Stop()
	for {
		err := hinders(ctx)
		if err == nil {
			return
		}
		select {
		case <-again.C:
		case <-ctx.Done():
			text, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string]("document.body.innerText"))
			b.t.Fatalf("waited %v in vain for %s: %v\nerrors of the page: %q\nthe page said:\n%s", needs.Patience, what, err, b.Errors(), text)
		}
	}
}

// Eval gives the value of a JavaScript expression, of the next page where the
// one that was asked goes meanwhile.
func Eval[T any](b *Browser, expression string) (v T) {
	b.t.Helper()
	b.until("the value of "+expression, func(ctx context.Context) (err error) {
		v, err = chromedp.Run(ctx, chromedp.Evaluate[T](expression))
		if gone := new(cdproto.Error); errors.As(err, &gone) {
			return err
		}
		require.NoError(b.t, err, expression)
		return nil
	})
	if said, ok := any(&v).(*string); ok {
		*said = strings.ReplaceAll(*said, "\u00a0", " ") // which keeps a number and its unit on one line
	}
	return v
}

// Text is what a reader sees in the element that a CSS selector finds, on a
// page that has come whole.
func (b *Browser) Text(selector string) string {
	b.t.Helper()
	b.Await(`document.readyState !== "loading"`)
	return Eval[string](b, `document.querySelector(`+quote(selector)+`)?.innerText ?? ""`)
}

// Errors lists what the scripts of the pages threw.
func (b *Browser) Errors() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.bad...)
}

// Strangers lists the addresses outside this machine that a page asked for.
func (b *Browser) Strangers() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.away...)
}

// Shoot writes a picture of the whole page to TAUTLOG_SHOTS, where that is
// set.
func (b *Browser) Shoot(name string) {
	b.t.Helper()
	dir := os.Getenv("TAUTLOG_SHOTS")
	if dir == "" {
		return
	}
	ctx, cancel := b.within()
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	require.NoError(b.t, err, "picture of %s", name)
	require.NoError(b.t, os.MkdirAll(dir, 0o755))
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}
