package bench

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
)

// onScreen is where a place on the paper, in its units, lies in the window.
func (p *page) onScreen(x, y float64) (float64, float64) {
	p.t.Helper()
	at := eval[[2]float64](p, fmt.Sprintf(`(() => {
		const svg = document.querySelector(".paper svg");
		svg.scrollIntoView({ block: "center" });
		const at = new DOMPoint(%g, %g).matrixTransform(svg.getScreenCTM());
		return [at.x, at.y];
	})()`, x, y))
	return at[0], at[1]
}

// handle is where a handle lies in the window.
func (p *page) handle(id string) (float64, float64) {
	p.t.Helper()
	at := eval[[2]float64](p, fmt.Sprintf(
		`((grip) => [Number(grip.getAttribute("cx")), Number(grip.getAttribute("cy"))])(document.querySelector('.handle[data-id="%s"] .grip'))`, id))
	return p.onScreen(at[0], at[1])
}

// saysWhatPackagesSay compares the numbers beside the curve with those that the
// packages have for a response.
func (p *page) saysWhatPackagesSay(r curves.Response) {
	p.t.Helper()
	x := p.analysis.Load().axis("rudder")
	e, err := x.effects.Of(r)
	if err != nil {
		p.t.Fatal(err)
	}
	rows := eval[map[string]string](p, `Object.fromEntries([...document.querySelectorAll(".numbers tbody tr")].map(
		(row) => [row.querySelector("th").firstChild.textContent, row.querySelector("td.now").textContent]))`)
	for name, want := range map[string]string{
		"resolution share": text.Percent(e.ResolutionAfter), "share of the possible gain": wholePercent(e.Gain),
		"largest slope": text.Number(e.MaxSlope, 2), "command at half throw": sides(r.Command(-0.5), r.Command(0.5)),
		"false motions expected":              perMinute(*e.FalseMotionsPerMinute),
		"full command from":                   sides(-(1 - r.EndMargin.Low), 1-r.EndMargin.High),
		"command jitter at rest":              text.PercentValue(e.Jitter[0].After),
		"command jitter " + e.Jitter[1].Where: text.PercentValue(e.Jitter[1].After),
	} {
		if rows[name] != want {
			p.t.Errorf("%s: %q on the page, %q by the packages", name, rows[name], want)
		}
	}
	if says := p.text(".flown figcaption"); !strings.Contains(says, text.PercentValue(e.Flight.JitterRMS.After)+" through") {
		p.t.Errorf("the flight: %q on the page, %s by the packages", says, text.PercentValue(e.Flight.JitterRMS.After))
	}
}

// share is a field's value as a share of the throw.
func (p *page) share(id string) float64 {
	p.t.Helper()
	v, err := strconv.ParseFloat(p.field(id), 64)
	if err != nil {
		p.t.Fatal(err)
	}
	return v / 100
}

// Dragging with the mouse and with a finger, the arrow keys, typing, undo and
// redo: each time the page says what the packages say by themselves.
func TestPageShaping(t *testing.T) {
	d := run(t, withRecording(t, config(t)))
	p := d.browse()
	p.seesAxis("rudder")
	x := d.analysis.Load().axis("rudder")
	want := x.proposed.Profile.Response
	p.saysWhatPackagesSay(want)
	proposed := p.field("deadband-high")

	fromX, fromY := p.handle("deadband-high")
	px, py := x.areas[0].Place(14, 0)
	toX, toY := p.onScreen(px, py)
	p.do("take hold", chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, fromX, fromY, chromedp.ButtonType(input.MouseButtonLeft), chromedp.ClickCount(1)))
	for i := 1.0; i <= 5; i++ {
		p.do("drag", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, fromX+(toX-fromX)*i/5, fromY+(toY-fromY)*i/5, chromedp.ButtonType(input.MouseButtonLeft)))
	}
	p.sees("the deadband while the button is down", `Math.abs(document.getElementById("field-deadband-high").value - 14) < 0.3`)
	p.do("let go", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, toX, toY, chromedp.ButtonType(input.MouseButtonLeft), chromedp.ClickCount(1)))
	want.Deadband.High = p.share("deadband-high")
	p.saysWhatPackagesSay(want)
	if candidate := p.text(".candidate:nth-of-type(2)"); candidate != "by hand 1" {
		t.Errorf("the drag made the candidate %q", candidate)
	}
	dragged := p.field("deadband-high")

	// The handle has the focus: steps of a thousandth of the throw, or of ten.
	// Keys that come faster than the page follows must not be lost.
	p.press(kb.ArrowRight, kb.ArrowRight, kb.ArrowUp, kb.ArrowRight)
	p.do("press with shift", chromedp.KeyEvent(kb.ArrowLeft, chromedp.KeyModifiers(kb.ModifierShift)))
	want.Deadband.High = math.Round(1e4*(want.Deadband.High+0.004-0.01)) / 1e4
	p.seesField("deadband-high", strconv.FormatFloat(100*want.Deadband.High, 'f', 2, 64))
	p.saysWhatPackagesSay(want)

	// All keys are one step back, and so is the whole drag.
	focus := func(key string) { p.do("focus "+key, chromedp.Focus(chromedp.CSS(`[data-key="`+key+`"]`))) }
	focus("undo")
	p.press(kb.Enter)
	p.seesField("deadband-high", dragged)
	p.press(kb.Enter)
	p.seesField("deadband-high", proposed)
	p.saysWhatPackagesSay(x.proposed.Profile.Response)
	focus("redo")
	p.press(" ")
	p.seesField("deadband-high", dragged)

	// A number that is typed, and one that is none.
	typeIn := func(text string) {
		p.do("type", chromedp.Focus(chromedp.CSS("#field-deadband-high")))
		eval[bool](p, `document.activeElement.select(), true`)
		p.press(text, kb.Enter)
	}
	typeIn("9.5")
	p.seesField("deadband-high", "9.50")
	want.Deadband.High = 0.095
	p.saysWhatPackagesSay(want)
	typeIn("95")
	p.seesField("deadband-high", "30.00") // held at the most that is possible
	p.click(`[data-key="undo"]`)
	p.seesField("deadband-high", "9.50")

	// With a finger.
	p.resize(390, 800, chromedp.EmulateMobile)
	fromX, fromY = p.handle("margin-high")
	px, py = x.areas[0].Place(92, 100)
	toX, toY = p.onScreen(px, py)
	p.touch(input.DispatchTouchEventTypeTouchStart, fromX, fromY)
	for i := 1.0; i <= 4; i++ {
		p.touch(input.DispatchTouchEventTypeTouchMove, fromX+(toX-fromX)*i/4, fromY+(toY-fromY)*i/4)
	}
	p.sees("the end margin under the finger", `Math.abs(document.getElementById("field-margin-high").value - 8) < 0.7`)
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	want.EndMargin.High = p.share("margin-high")
	p.saysWhatPackagesSay(want)
}

func (p *page) touch(kind input.DispatchTouchEventType, at ...float64) {
	p.t.Helper()
	points := []*input.TouchPoint{}
	if len(at) == 2 {
		points = append(points, &input.TouchPoint{X: at[0], Y: at[1]})
	}
	if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
		p.t.Fatal(err)
	}
}

func (p *page) seesField(id, value string) {
	p.t.Helper()
	p.sees(id+" at "+value, fmt.Sprintf("document.getElementById(%q).value === %q", "field-"+id, value))
}
