package bench

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Names that would be markup are text, on the page, on the sheet and on the card.
func TestPageShowsNamesAsText(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	p := d.browse()
	p.seesAxis("rudder")
	p.click(`[data-key="copy"]`)
	p.sees("a candidate", `!document.querySelector('[data-key="name"]').disabled`)
	const name = `<img src=y onerror=alert(3)>`
	eval[bool](p, fmt.Sprintf(`((field) => { field.value = %q; field.dispatchEvent(new Event("change")); return true; })(document.querySelector('[data-key="name"]'))`, name))
	p.sees("its name", fmt.Sprintf(`document.querySelector(".numbers th.now").textContent === %q`, name))
	for _, at := range []string{"#rail h2", "#sheet .about"} {
		if said := p.text(at); !strings.Contains(said, hostile) {
			t.Errorf("%s says %q, not the device's whole name", at, said)
		}
	}
	scripts := 1
	for _, path := range []string{"", "/sheet", "/axis/rudder/table/card"} {
		if path != "" {
			p.visit(d.base + path)
			scripts = 0
		}
		if n := eval[int](p, `document.querySelectorAll("img, [onerror], iframe").length`); n != 0 {
			t.Errorf("%s holds %d pieces of markup that came from a name", path, n)
		}
		if n := eval[int](p, `document.scripts.length`); n != scripts {
			t.Errorf("%s holds %d scripts, want %d", path, n, scripts)
		}
	}
}

// The policy of the page holds: nothing inline runs, nothing is made of text,
// nothing is fetched from elsewhere.
func TestPagePolicy(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	elsewhere := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		t.Errorf("the page reached another site: %s", r.URL)
	}))
	defer elsewhere.Close()
	p := newPage(d)
	p.visit(d.base + "/?token=" + d.token)
	p.seesAxis("rudder")
	if complaints := p.said(); len(complaints) != 0 {
		t.Fatalf("before anything is tried: %v", complaints)
	}
	eval[bool](p, fmt.Sprintf(`(() => {
		window.broken = [];
		window.violated = new Set();
		document.addEventListener("securitypolicyviolation", (e) => violated.add(e.effectiveDirective));
		const add = (name, attributes) => document.body.append(Object.assign(document.createElement(name), attributes));
		add("script", { textContent: "broken.push('inline script')" });
		add("style", { textContent: "body{outline:7px solid}" });
		add("img", { src: %[1]q + "/a.png" });
		add("iframe", { src: %[1]q + "/frame" });
		document.body.insertAdjacentHTML("beforeend", "<p id=p style='outline:7px solid' onclick='broken.push(1)'>");
		document.getElementById("p").click();
		fetch(%[1]q + "/fetch").then(() => broken.push("fetch"), () => {});
		return true;
	})()`, elsewhere.URL))
	p.sees("all of it refused", `["script-src-elem", "script-src-attr", "style-src-elem", "style-src-attr", "img-src", "frame-src", "connect-src"].every((d) => violated.has(d))`)
	if broken := eval[[]string](p, "broken.map(String)"); len(broken) > 0 {
		t.Errorf("the policy let through: %v", broken)
	}
	if outline := eval[string](p, `getComputedStyle(document.body).outlineStyle + getComputedStyle(document.getElementById("p")).outlineStyle`); outline != "nonenone" {
		t.Errorf("an inline style came through: %s", outline)
	}
}

// Another page, in the same browser that was let in, gets nothing and changes
// nothing: under a name that was pointed here, and from a page of its own.
func TestPageOfSomebodyElse(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	p := newPage(d)
	p.visit(d.base + "/?token=" + d.token)
	p.seesAxis("rudder")
	port := d.base[strings.LastIndex(d.base, ":"):]
	for _, path := range []string{"/", "/state", "/?token=" + d.token} {
		p.visit("http://" + foreign + port + path)
		if said := eval[string](p, "document.body.innerText"); !strings.Contains(said, "not the address of the bench") {
			t.Errorf("under another name, %s says %.200q", path, said)
		}
	}

	theirs := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, "<!DOCTYPE html><title>another page</title><p>another page")
	}))
	defer theirs.Close()
	before := d.sampler.revision()
	p.visit(theirs.URL)
	got := eval[[]string](p, fmt.Sprintf(`(async () => {
		const bench = %q, got = [];
		const wish = { method: "POST", credentials: "include", body: "{}" };
		for (const how of [{ mode: "no-cors" }, { mode: "cors" }, { mode: "cors", headers: { "X-Halfstick-Token": %q } }]) {
			await fetch(bench + "/look", { ...wish, ...how }).then((r) => r.type === "opaque" || got.push("an answer to a change"), () => {});
		}
		await fetch(bench + "/state", { credentials: "include" }).then(() => got.push("the state"), () => {});
		await new Promise((done) => {
			const script = document.createElement("script");
			script.onload = () => { got.push("a script"); done(); };
			script.onerror = done;
			script.src = bench + "/web/dom.js";
			document.head.append(script);
		});
		await new Promise((done) => {
			const frame = document.createElement("iframe");
			frame.onload = frame.onerror = done;
			frame.src = bench + "/";
			document.body.append(frame);
		});
		return got;
	})()`, d.base, d.token))
	if len(got) > 0 {
		t.Errorf("another page got %v", got)
	}
	if after := d.sampler.revision(); after != before {
		t.Error("another page had the rig opened anew")
	}
	if complaints := strings.Join(p.said(), "\n"); !strings.Contains(complaints, "frame-ancestors") {
		t.Errorf("nothing was said of the frame: %s", complaints)
	}
}

// Two browsers at once: what one does the other shows, and each has its own try.
func TestTwoPages(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	one, other := d.browse(), d.browse()
	one.seesAxis("rudder")
	other.seesAxis("rudder")
	one.click(".try button")
	one.sees("marks", `document.querySelector(".try > p.small").textContent !== ""`)
	eval[bool](one, `((field) => { field.value = "8.5"; field.dispatchEvent(new Event("change")); return true; })(document.getElementById("field-deadband-low"))`)
	other.seesField("deadband-low", "8.50")
	other.click(`[data-key="undo"]`)
	one.sees("the way forth", `!document.querySelector('[data-key="redo"]').disabled`)
	if one.field("deadband-low") == "8.50" {
		t.Error("one page does not follow the other's undo")
	}

	// What is half typed on one page outlasts what the other does meanwhile, also
	// where that builds the fields anew, and is taken when it is done.
	one.do("begin to type", chromedp.Focus(chromedp.CSS("#field-deadband-high")))
	eval[bool](one, `document.activeElement.select(), true`)
	one.press("6")
	eval[bool](other, `((field) => { field.value = "4.25"; field.dispatchEvent(new Event("change")); return true; })(document.getElementById("field-deadband-low"))`)
	one.seesField("deadband-low", "4.25")
	other.click("#shape-apart")
	one.sees("each side its own shape", `document.getElementById("shape-apart").checked`)
	one.seesField("deadband-high", "6")
	one.press(".5", kb.Enter)
	other.seesField("deadband-high", "6.50")
	one.press("7", kb.Escape)
	one.seesField("deadband-high", "6.50")
	if said := other.text(".try > p.small"); said != "" {
		t.Errorf("the other page tries too: %q", said)
	}
}
