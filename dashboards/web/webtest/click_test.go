package webtest_test

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/dashboards/web/webtest"
)

// unsteady is a page on which a button comes late, is disabled at first, lies
// under something, moves over the screen frame by frame, and once more under the
// first finger that comes down: whoever presses where it was presses the other.
const unsteady = `<!doctype html><title>unsteady</title>
<p style="height: 3000px"></p>
<p id="room"></p><button id="other">Other</button>
<div id="lid" style="position: fixed; inset: 0; background: grey"></div>
<script>
	const pressed = [], told = (name) => () => { pressed.push(name); document.title = pressed.join(" "); };
	document.querySelector("#other").onclick = told("other");
	const b = Object.assign(document.createElement("button"), { id: "mine", textContent: "Mine", disabled: true, onclick: told("mine") });
	const steps = [() => document.querySelector("#room").after(b), () => { b.disabled = false; }, () => document.querySelector("#lid").remove()];
	for (let i = 1; i <= 60; i++) steps.push(() => { document.querySelector("#room").style.height = i + "px"; });
	const step = () => { steps.shift()(); if (steps.length > 0) requestAnimationFrame(step); };
	addEventListener("load", () => requestAnimationFrame(step));
	const move = () => { document.querySelector("#room").style.height = "400px"; removeEventListener("pointerdown", move, true); };
	addEventListener("pointerdown", move, true);
</script>`

// A click waits until its element can be pressed, and never comes to another one.
func TestClickComesToItsElement(t *testing.T) {
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(unsteady))
	}))
	defer srv.Close()
	b := webtest.Start(t)
	b.Open(srv.URL)
	b.Click("#mine")
	b.Await(`document.title === "mine"`)
	b.Click("#other")
	b.Await(`document.title === "mine other"`)
	assert.Empty(t, b.Errors())
}
