package bench

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"halfstick/curves"
	"halfstick/fit/translate"
)

// retype replaces what stands in a field, as a hand does.
func (p *page) retype(selector, text string) {
	p.t.Helper()
	p.do("focus "+selector, chromedp.Focus(chromedp.CSS(selector)))
	eval[bool](p, `document.activeElement.select(), true`)
	p.press(text)
}

// A recording that was broken off is gone on with by a button; then the axis
// gets another name, under which it is what it was, on both of two pages.
func TestPageGoesOnAndNames(t *testing.T) {
	c := config(t)
	var options translate.Options
	c.Translate = func(_ curves.ProfileAxis, readings []byte, o translate.Options) (string, error) {
		options = o
		return fmt.Sprintf("from %d bytes: 40", len(readings)), nil
	}
	d := guidedDeskIn(t, c, stopAtRest())
	p, other := d.browse(), d.browse()
	d.beginRudder()
	p.sees("the offer", `document.getElementById("unfinished").innerText.includes("It lacks: rudder (rest, release, hold)") && !document.getElementById("go-on").disabled`)
	p.axe("with the offer")
	for _, page := range []*page{p, other} {
		page.seesAxis("rudder")
		eval[bool](page, `document.querySelector("#sheet .axis").dataset.before = "yes", true`)
	}
	p.click("#go-on")
	p.sees("that it is whole", `document.getElementById("unfinished").hidden && document.getElementById("guide").hidden`)
	for _, page := range []*page{p, other} {
		page.sees("what was measured anew", `!document.querySelector("#sheet .axis").dataset.before`)
		page.seesAxis("rudder")
	}

	p.click(".naming summary")
	p.retype("#axis-name", "two words")
	p.press(kb.Enter)
	p.sees("what is wrong with it", `document.getElementById("problem").innerText.includes('cannot be called "two words"')`)
	if complaints := p.said(); len(complaints) != 1 || !strings.Contains(complaints[0], "/name") {
		t.Errorf("the browser complains: %v", complaints)
	}
	p.retype("#axis-name", "feet")
	p.click("#take-name")
	for _, page := range []*page{p, other} {
		page.seesAxis("feet")
		page.sees("no complaint", `document.getElementById("problem").hidden`)
	}

	// What is typed of a program outlasts a look at another axis.
	p.click(".takeaway details summary")
	p.retype("#straight-at", "50")
	p.retype("#low", "0")
	p.retype("#high", "100")
	eval[bool](p, `[...document.querySelectorAll("#rail button")].at(-1).click(), true`)
	p.seesAxis("right-brake")
	p.click(".takeaway details summary")
	p.click(".takeaway details button")
	p.sees("the answer", `document.querySelector(".translation").textContent.endsWith("bytes: 40")`)
	if options.StraightAt != 50 || options.Settings == nil || *options.Settings != (translate.Range{Low: 0, High: 100}) {
		t.Errorf("the page sent %+v", options)
	}
}
