package bench

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// axe runs the accessibility checker on the page as it is, and reports whatever
// is serious or critical.
func (p *page) axe(where string) {
	p.t.Helper()
	checker, err := os.ReadFile("testdata/axe/axe.min.js")
	if err != nil {
		p.t.Fatal(err)
	}
	p.do("load the checker", chromedp.Evaluate[chromedp.Void](string(checker)+"; undefined"))
	var found struct {
		Passes     int
		Violations []struct {
			ID, Impact, Help string
			Nodes            []struct{ HTML, FailureSummary string }
		}
	}
	result := eval[string](p, `axe.run({ resultTypes: ["violations"], runOnly: { type: "tag", values: [
		"wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] } }).then(
		(r) => JSON.stringify({ Passes: r.passes.length, Violations: r.violations }))`)
	if err := json.Unmarshal([]byte(result), &found); err != nil {
		p.t.Fatal(err)
	}
	if found.Passes < 20 {
		p.t.Errorf("%s: only %d rules were applied", where, found.Passes)
	}
	for _, v := range found.Violations {
		report := p.t.Logf
		if v.Impact == "serious" || v.Impact == "critical" {
			report = p.t.Errorf
		}
		for _, n := range v.Nodes[:min(len(v.Nodes), 3)] {
			report("%s: %s, %s: %s\n\t%.200s\n\t%s", where, v.Impact, v.ID, v.Help, n.HTML, strings.ReplaceAll(n.FailureSummary, "\n", "\n\t"))
		}
	}
}

// No serious finding of the checker, nothing wider than the window, and nothing
// too small for a finger; light and dark, on a phone and on a desk.
func TestPageAccessibility(t *testing.T) {
	p := run(t, withRecording(t, config(t))).browse()
	p.seesAxis("rudder")
	// Whatever opens is open, so that it is looked at too.
	eval[bool](p, `document.querySelectorAll("details").forEach((d) => { d.open = true; }), true`)
	for _, scheme := range []string{"light", "dark"} {
		p.prefers(map[string]string{"prefers-color-scheme": scheme})
		for _, width := range []int64{390, 1280} {
			p.resize(width, 900)
			p.axe(fmt.Sprintf("%s at %d", scheme, width))
		}
	}
	for _, width := range []int64{360, 390, 768, 1024, 1280, 1920, 2560} {
		p.resize(width, 900)
		if beyond := eval[[]string](p, `document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")].filter(
			(e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".rail, .numbers")).map((e) => e.tagName + "." + e.getAttribute("class")).slice(0, 5)`); len(beyond) > 0 {
			t.Errorf("at %d pixels the page is wider than the window: %v", width, beyond)
		}
	}
	p.resize(390, 800, chromedp.EmulateMobile)
	for _, small := range eval[[]string](p, `[...document.querySelectorAll("button, .button, input, select, textarea, summary, .handle")].flatMap((e) => {
		const target = e.matches("[type=radio], [type=checkbox]") ? e.closest("label") : e.querySelector(".reach") || e;
		const { width, height } = target.getBoundingClientRect();
		return width === 0 || (width >= 43.5 && height >= 43.5) ? [] : [e.tagName + " " + (e.id || e.textContent.slice(0, 20)) + " " + Math.round(width) + "×" + Math.round(height)];
	})`) {
		t.Errorf("too small for a finger: %s", small)
	}
}

// reachable are all that a person can act on, in words; a group of radio
// buttons is one. visited does the same for what has the focus.
const (
	keyboardScript = `window.nameOf = (e) => e.type === "radio" ? "radio " + e.name
		: e.tagName + " " + (e.id || e.dataset.key || e.dataset.id || e.getAttribute("href") || e.getAttribute("aria-label") || (e.querySelector(".label") || e).textContent.trim().slice(0, 40));
	window.reachable = () => [...new Set([...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex='0']")].filter(
		(e) => !e.disabled && e.checkVisibility({ visibilityProperty: true })).map(nameOf))];
	window.outlined = (e) => {
		const ring = e.matches(".handle") ? getComputedStyle(e.querySelector(".reach")).stroke : getComputedStyle(e).outlineStyle;
		return ring !== "none" && e.checkVisibility({ visibilityProperty: true });
	};`
)

// The Tab key alone reaches everything, one after the other and back at the
// start, and each time it shows where it is.
func TestPageByKeyboard(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	p := newPage(d)
	p.first(keyboardScript)
	p.visit(d.base + "/?token=" + d.token)
	p.seesAxis("rudder")
	want := eval[[]string](p, "reachable()")
	if len(want) < 25 {
		t.Fatalf("only %d things can be reached: %v", len(want), want)
	}
	seen := map[string]bool{}
	for range len(want) + 60 {
		p.press(kb.Tab)
		at := eval[struct {
			Name    string
			Visible bool
		}](p, `((e) => e === document.body ? { Name: "" } : { Name: nameOf(e), Visible: outlined(e) })(document.activeElement)`)
		if at.Name == "" {
			break
		}
		if seen[at.Name] = true; !at.Visible {
			t.Errorf("the focus does not show on %s", at.Name)
		}
	}
	for _, name := range want {
		if !seen[name] {
			t.Errorf("the Tab key does not reach %s", name)
		}
	}

	// What it reaches it can use: another axis, the way past the rail, a candidate.
	p.do("focus the rail", chromedp.Focus(chromedp.CSS("#rail li:nth-child(2) button")))
	p.press(" ")
	p.seesAxis("left-brake")
	if at := eval[string](p, `document.activeElement.querySelector?.(".label")?.textContent ?? document.activeElement.tagName`); at != "left-brake" {
		t.Errorf("after choosing left-brake the focus is on %s", at)
	}
	p.do("focus the way past", chromedp.Focus(chromedp.CSS(".skip")))
	p.press(kb.Enter)
	p.sees("the focus on the section", `document.activeElement.id === "sheet"`)
	p.do("focus", chromedp.Focus(chromedp.CSS(`[data-key="copy"]`)))
	p.press(kb.Enter)
	p.sees("a second candidate, chosen", `document.querySelector('[data-key="candidate-1"]')?.checked`)
	p.do("focus", chromedp.Focus(chromedp.CSS(`[data-key="candidate-1"]`)))
	p.press(kb.ArrowUp)
	p.sees("the proposal chosen again", `document.querySelector('[data-key="candidate-0"]').checked && document.activeElement.dataset.key === "candidate-0"`)
	if complaints := p.said(); len(complaints) > 0 {
		t.Errorf("the browser complains: %v", complaints)
	}
}
