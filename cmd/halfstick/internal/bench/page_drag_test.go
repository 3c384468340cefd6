package bench

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// painting measures in the page how long each move of the pointer takes until
// the curve and the numbers that follow from it, or from a later move, are
// painted. A request takes the newest move with it; what its answer brings
// changes the handle and the numbers in one go, before the next one is read, and
// stands on the screen when the task behind the next frame runs.
const painting = `(() => {
	window.moved = { took: [], requests: [], last: 0 };
	let pending = [], answered = 0;
	document.addEventListener("onpointerrawupdate" in document ? "pointerrawupdate" : "pointermove", (e) => pending.push({ n: ++moved.last, at: e.timeStamp }), true);
	const fetched = window.fetch;
	window.fetch = async (path, how) => {
		const drag = how && String(how.body).includes('"move"');
		const asked = moved.last, requested = performance.now();
		const response = await fetched(path, how);
		if (!drag) return response;
		const text = response.text.bind(response);
		response.text = async () => {
			const body = await text();
			moved.requests.push(performance.now() - requested);
			answered = asked;
			return body;
		};
		return response;
	};
	new MutationObserver(() => {
		const reflected = answered;
		requestAnimationFrame(() => {
			const channel = new MessageChannel();
			channel.port1.onmessage = () => {
				const now = performance.now();
				moved.took.push(...pending.filter((p) => p.n <= reflected).map((p) => now - p.at));
				pending = pending.filter((p) => p.n > reflected);
			};
			channel.port2.postMessage(null);
		});
	}).observe(document.querySelector(".paper .handles"), { attributes: true, subtree: true });
	return true;
})()`

// BenchmarkDrag drags a handle to and fro, sixty moves a second, while the page
// streams: from the pointer's event to the painted curve and numbers.
func BenchmarkDrag(b *testing.B) {
	c := withRecording(b, config(b))
	c.RateHz = 500
	d := run(b, c)
	p := d.browse()
	p.resize(1280, 1000)
	p.seesAxis("rudder")
	eval[bool](p, painting)
	x, y := p.handle("deadband-high")
	mouse := func(kind input.DispatchMouseEventType, x float64) {
		p.do("mouse", chromedp.MouseEvent(kind, x, y, chromedp.ButtonType(input.MouseButtonLeft), chromedp.ClickCount(1)))
	}
	mouse(input.DispatchMouseEventTypeMousePressed, x)
	tick := time.NewTicker(time.Second / 60)
	defer tick.Stop()
	for b.Loop() {
		for i := range 240 {
			<-tick.C
			away := i % 80
			mouse(input.DispatchMouseEventTypeMouseMoved, x+float64(min(away, 80-away)))
		}
	}
	mouse(input.DispatchMouseEventTypeMouseReleased, x)
	p.sees("the last move painted", "moved.took.length >= moved.last - 1")
	for name, times := range map[string][]float64{"paint": eval[[]float64](p, "moved.took"), "answer": eval[[]float64](p, "moved.requests")} {
		if len(times) < 50 {
			b.Fatalf("only %d times were taken", len(times))
		}
		slices.Sort(times)
		b.ReportMetric(times[len(times)/2], fmt.Sprintf("ms/%s-p50", name))
		b.ReportMetric(times[len(times)*99/100], fmt.Sprintf("ms/%s-p99", name))
	}
	b.ReportMetric(0, "ns/op")
}
