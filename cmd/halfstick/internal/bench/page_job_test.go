package bench

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"

	"halfstick/curves"
	"halfstick/input"
	"halfstick/input/rig"
)

// hurried is the machine's clock until it is told to hurry; then it jumps, but
// lets a page breathe. It belongs to the sampling goroutine.
type hurried struct {
	hurry atomic.Bool
	ahead atomic.Int64
	real  input.Clock
	jumps int
}

func (c *hurried) Now() time.Duration { return c.real.Now() + time.Duration(c.ahead.Load()) }

func (c *hurried) SleepUntil(at time.Duration) {
	if !c.hurry.Load() {
		c.real.SleepUntil(at - time.Duration(c.ahead.Load()))
		return
	}
	c.ahead.Add(max(0, int64(at-c.Now())))
	if c.jumps++; c.jumps%50 == 0 {
		time.Sleep(time.Millisecond)
	}
}

// The whole job on the page: from nothing, through a guided recording that asks
// for every control, to findings, a response shaped by hand, and its table in a
// file. Nobody touches the mouse between the beginning and the end of the
// recording.
func TestPageWholeJob(t *testing.T) {
	c := config(t)
	clock := &hurried{real: input.SystemClock()}
	c.Clock = clock
	c.Simulated = "Simulated rig: nothing is read."
	var bench atomic.Pointer[Bench]
	c.Open = func() (input.Source, error) {
		r, err := rig.New(hostileSpecs(), 1)
		if err != nil {
			return nil, err
		}
		return r.Source(&since{clock, clock.Now()}), r.SetLive(&rig.Live{Names: map[string]string{"yaw": "rudder"}, Ask: func() rig.Wish {
			if b := bench.Load(); b != nil {
				if s, on := b.Guiding(); on {
					return rig.Wish{Task: string(s.Kind), Axis: s.Column, Label: s.Axis, Side: s.Side, Serial: s.Attempt}
				}
			}
			return rig.Wish{Axis: -1}
		}})
	}
	d := run(t, c)
	bench.Store(d.Bench)
	p := d.browse()
	downloads := t.TempDir()
	_, err := chromedp.Call(p.ctx, cdpbrowser.SetDownloadBehavior, cdpbrowser.SetDownloadBehaviorParams{
		Behavior: cdpbrowser.SetDownloadBehaviorBehaviorAllow, DownloadPath: downloads, BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID,
	})
	if err != nil {
		t.Fatal(err)
	}
	p.sees("that it is simulated, and that nothing has been recorded", `document.querySelector(".simulated").textContent.includes("Simulated rig")
		&& document.getElementById("doing").textContent === "nothing recorded yet" && !document.getElementById("begin").disabled`)
	eval[bool](p, `import("/web/stream.js").then((stream) => {
		window.asked = new Set();
		window.least = Infinity;
		stream.on("guide", ({ state }) => {
			if (!state) return;
			asked.add(state.kind);
			const what = document.querySelector("#guide .what");
			if (what && what.textContent) least = Math.min(least, parseFloat(getComputedStyle(what).fontSize));
		});
		return true;
	})`)
	p.click("#begin")
	p.sees("the guide", `document.querySelector("#guide .what")?.checkVisibility()`)
	p.axe("the guide")
	if shown, at := p.text("#guide .what"), d.guideState().State; at != nil && shown == "" {
		t.Error("the guide asks for nothing")
	}
	clock.hurry.Store(true)
	p.sees("the end of the guide", `document.getElementById("guide").hidden`)
	clock.hurry.Store(false)
	if least := eval[float64](p, "least"); least < 60 {
		t.Errorf("the words are %g pixels high, too small to be read from two metres", least)
	}
	for _, kind := range []string{"name", "sweep", "rest", "release", "hold"} {
		if !eval[bool](p, fmt.Sprintf("asked.has(%q)", kind)) {
			t.Errorf("the page never asked for %q", kind)
		}
	}
	p.sees("the measured axes", `document.querySelector(".measured tbody tr") && document.querySelector(".findings .finding")`)
	p.seesAxis("yaw")

	p.do("type a deadband", chromedp.Focus(chromedp.CSS("#field-deadband-high")))
	eval[bool](p, `document.activeElement.select(), true`)
	p.press("7.25", "\r")
	p.seesField("deadband-high", "7.25")
	p.click(".try button")
	p.sees("the marks move", `document.querySelector(".try > p.small").textContent.startsWith("straight at")`)
	eval[bool](p, `((points) => { points.value = 13; points.dispatchEvent(new Event("change")); return true; })(document.getElementById("table-points"))`)
	p.sees("the shorter table", `document.querySelectorAll(".takeaway .blocks tbody tr").length === 13`)
	p.click(`.takeaway a[href*="/table/csv"]`)

	response := d.analysis.Load().axis("yaw").proposed.Profile.Response
	response.Deadband.High = 0.0725
	table, err := response.Table(curves.TableOptions{Points: 13, Places: 1, Spacing: curves.Even})
	if err != nil {
		t.Fatal(err)
	}
	table.Label = "yaw"
	var want bytes.Buffer
	if err := curves.WriteTablesCSV(&want, []curves.Table{table}); err != nil {
		t.Fatal(err)
	}
	var got []byte
	d.until("the table in a file", func() bool {
		files, _ := filepath.Glob(filepath.Join(downloads, "*.csv"))
		if len(files) != 1 {
			return false
		}
		got, err = os.ReadFile(files[0])
		return err == nil && len(got) > 0
	})
	if !bytes.Equal(got, want.Bytes()) {
		t.Errorf("the file holds\n%s\nwant\n%s", got, want.Bytes())
	}
}
