package webtest

import (
	"context"
	"errors"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// spot is a place in the window, in pixels.
type spot struct{ X, Y float64 }

// steady gives the middle of an element that can be pressed, and else says why it
// cannot: it has to be there, to be enabled, to stand still from one frame of the
// screen to the next, and nothing may lie over it.
const steady = `(async (selector) => {
	const e = document.querySelector(selector);
	if (!e) return { why: "it is not there" };
	if (e.matches(":disabled")) return { why: "it is disabled" };
	e.scrollIntoView({ block: "center", behavior: "instant" });
	const frame = () => new Promise(requestAnimationFrame);
	await frame();
	const before = e.getClientRects()[0];
	await frame();
	const now = e.getClientRects()[0];
	if (!before || !now) return { why: "it is not to be seen" };
	if (["x", "y", "width", "height"].some((k) => before[k] !== now[k])) return { why: "it moves" };
	const [x, y] = [now.x + now.width / 2, now.y + now.height / 2];
	const hit = document.elementFromPoint(x, y);
	return e.contains(hit) ? { x, y } : { why: "over it lies " + hit?.outerHTML.slice(0, 200) };
})`

// guard keeps from the page what is meant for an element and would come to
// another one, because the page moved at the last moment. It ends with the click,
// or with window.guarded.
const guard = `((selector) => {
	const e = document.querySelector(selector);
	const kinds = ["pointerdown", "mousedown", "pointerup", "mouseup", "click"];
	const guarded = { arrived: false };
	const look = (event) => {
		if (!e?.contains(event.target)) {
			event.preventDefault();
			event.stopImmediatePropagation();
		} else if (event.type === "click") {
			guarded.arrived = true;
			guarded.end();
		}
	};
	guarded.end = () => kinds.forEach((k) => removeEventListener(k, look, true));
	kinds.forEach((k) => addEventListener(k, look, true));
	window.guarded = guarded;
	return true;
})`

// arrived tells whether the click came to its element. A page that the click has
// left knows of no guard.
const arrived = `(() => { window.guarded?.end(); return window.guarded?.arrived ?? true; })()`

// Click clicks the element that a CSS selector finds as soon as a person could:
// see steady. Where the page moves under the finger it aims again, and logs that.
func (b *Browser) Click(selector string) {
	b.t.Helper()
	for range 20 {
		at := b.aim(selector)
		Eval[bool](b, guard+`(`+quote(selector)+`)`)
		b.do(chromedp.MouseClickXY(at.X, at.Y), "click %s", selector)
		if Eval[bool](b, arrived) {
			return
		}
		b.t.Logf("the page moved while %s was clicked", selector)
	}
	require.Fail(b.t, "the page moved under every click on "+selector)
}

// aim waits until the element that a CSS selector finds can be pressed.
func (b *Browser) aim(selector string) (at spot) {
	b.t.Helper()
	b.until(selector+" to be pressed", func(ctx context.Context) error {
		found, err := chromedp.Run(ctx, chromedp.Evaluate[struct {
			spot
			Why string
		}](steady+`(`+quote(selector)+`)`, chromedp.EvalAwaitPromise))
		if err == nil && found.Why != "" {
			return errors.New(found.Why)
		}
		at = found.spot
		return err
	})
	return at
}
