package webtest

import (
	"context"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Drag drags the element that a CSS selector finds by its middle, level, to a
// share of the width of what it lies in: 0 is the left edge, 1 the right one. A
// finger drags where touch, else the mouse.
func (b *Browser) Drag(selector string, share float64, touch bool) {
	b.t.Helper()
	at := b.aim(selector)
	around := Eval[[]float64](b, `(() => { const r = document.querySelector(`+quote(selector)+`).parentElement.getBoundingClientRect(); return [r.x, r.width]; })()`)
	x, y, to := at.X, at.Y, around[0]+share*around[1]
	ctx, cancel := b.within()
	defer cancel()
	send := b.mouse
	if touch {
		send = b.finger
	}
	require.NoError(b.t, send(ctx, "down", x, y), "drag %s", selector)
	const steps = 8
	for i := 1; i <= steps; i++ {
		require.NoError(b.t, send(ctx, "move", x+(to-x)*float64(i)/steps, y), "drag %s", selector)
	}
	require.NoError(b.t, send(ctx, "up", to, y), "drag %s", selector)
}

func (b *Browser) mouse(ctx context.Context, what string, x, y float64) error {
	kind := map[string]input.DispatchMouseEventType{"down": input.DispatchMouseEventTypeMousePressed, "move": input.DispatchMouseEventTypeMouseMoved, "up": input.DispatchMouseEventTypeMouseReleased}[what]
	return chromedp.Do(ctx, chromedp.MouseEvent(kind, x, y, func(p *input.DispatchMouseEventParams) {
		p.Button, p.Buttons, p.ClickCount = input.MouseButtonLeft, 1, 1
	}))
}

func (b *Browser) finger(ctx context.Context, what string, x, y float64) error {
	p := input.DispatchTouchEventParams{TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}
	p.Type = map[string]input.DispatchTouchEventType{"down": input.DispatchTouchEventTypeTouchStart, "move": input.DispatchTouchEventTypeTouchMove, "up": input.DispatchTouchEventTypeTouchEnd}[what]
	if what == "up" {
		p.TouchPoints = []*input.TouchPoint{}
	}
	return chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.Call(ctx, input.DispatchTouchEvent, p)
		return err
	}))
}
