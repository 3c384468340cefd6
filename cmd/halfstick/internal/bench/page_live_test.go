package bench

import (
	"fmt"
	"slices"
	"sync/atomic"
	"testing"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input"
)

// still is a source whose pedals stay where a test puts them.
type still struct {
	counting
	at [2]atomic.Int32
}

func (s *still) Poll(counts []int16, present []bool) error {
	for i := range s.at {
		counts[i], present[i] = int16(s.at[i].Load()), true
	}
	return nil
}

// hear keeps what the page's own stream brings it, as it comes.
const hear = `import("/web/stream.js").then((stream) => {
	window.heard = { rows: 0, values: [] };
	stream.on("rows", (rows) => {
		heard.rows++;
		for (const v of rows.counts[0]) heard.values.push(v);
	});
	return true;
})`

// What the page receives is, row for row, what was sampled; and what it says
// and draws of an axis is what the packages make of the same counts.
func TestPageShowsWhatIsSampled(t *testing.T) {
	source := &counting{}
	c := config(t)
	c.Open = func() (input.Source, error) { return source, nil }
	p := run(t, c).browse()
	eval[bool](p, hear)
	p.sees("rows", "heard.values.length > 400")
	values := eval[[]int16](p, "heard.values")
	given := source.all()
	at := slices.IndexFunc(given, func(g [2]int16) bool { return g[0] == values[0] })
	if at < 0 || at+len(values) > len(given) {
		t.Fatalf("the page heard %d rows from %d of %d on", len(values), at, len(given))
	}
	for i, v := range values {
		if v != given[at+i][0] {
			t.Fatalf("row %d on the page is %d, %d was sampled", i, v, given[at+i][0])
		}
	}
}

func TestPageShowsTheCommand(t *testing.T) {
	source := &still{}
	c := withRecording(t, config(t))
	c.Open = func() (input.Source, error) { return source, nil }
	p := run(t, c).browse()
	p.seesAxis("rudder")
	eval[bool](p, `document.querySelector(".paper svg").scrollIntoView({ block: "center" }), true`) // marks are drawn where they are seen
	response := p.chosen(p.analysis.Load().axis("rudder")).Axis.Response
	for _, counts := range []int32{-20000, -9000, 6000, 21000} {
		source.at[0].Store(counts)
		said := text.Number(float64(counts), 0)
		p.sees("counts "+said, fmt.Sprintf(`document.getElementById("now-counts").textContent === %q`, said))
		u, y := response.Position(float64(counts)), response.FromCounts(float64(counts))
		for id, want := range map[string]string{"#now-position": text.Number(100*u, 1) + " %", "#now-command": text.Number(100*y, 1) + " %"} {
			if got := p.text(id); got != want {
				t.Errorf("at %d counts %s says %q, want %q", counts, id, got, want)
			}
		}
		// The pens stand at the right edge of the strip; their scales are its
		// whole height less the margins.
		p.sees(fmt.Sprintf("the pens at %d", counts), fmt.Sprintf("Math.abs((%s) - %g) < 0.01 && Math.abs((%s) - %g) < 0.01",
			penAt("blue"), (float64(counts)+32768)/65535, penAt("vermilion"), (y+1)/2))
		// On the paper a dot lies where the curve has it.
		px, py := p.analysis.Load().axis("rudder").areas[0].Place(100*u, 100*y)
		p.sees("the dot on the curve", fmt.Sprintf(
			`(() => {
				const dot = document.querySelector(".paper .live-marks circle"), seen = dot?.getBoundingClientRect();
				if (!seen) return false;
				const at = new DOMPoint(seen.x + seen.width / 2, seen.y + seen.height / 2).matrixTransform(dot.ownerSVGElement.getScreenCTM().inverse());
				return Math.hypot(at.x - %g, at.y - %g) < 0.05;
			})()`, px, py))
	}
}

// penAt is an expression for where the pen of an ink stands, 0 at the bottom of
// the strip's scale and 1 at its top: the middle of what has its colour there.
func penAt(ink string) string {
	return fmt.Sprintf(`(() => {
		const strip = document.getElementById("strip"), { width, height } = strip.getBoundingClientRect();
		const copy = document.createElement("canvas");
		[copy.width, copy.height] = [width, height];
		const context = copy.getContext("2d", { willReadFrequently: true });
		context.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--%s");
		context.fillRect(0, 0, 1, 1);
		const ink = context.getImageData(0, 0, 1, 1).data;
		context.clearRect(0, 0, 1, 1);
		context.drawImage(strip, 0, 0, width, height);
		const column = context.getImageData(Math.round(width) - 52 + 7, 0, 1, height).data;
		let sum = 0, n = 0;
		for (let y = 0; y < column.length / 4; y++) {
			if ([0, 1, 2].every((c) => Math.abs(column[4*y+c] - ink[c]) < 8) && column[4*y+3] > 250) { sum += y; n++; }
		}
		return 1 - (sum / n + 0.5 - 12) / (height - 30);
	})()`, ink)
}

// A page that is closed in the middle is forgotten, and the sampling and the
// other page go on.
func TestPageClosedInTheMiddle(t *testing.T) {
	source := &counting{}
	c := config(t)
	c.Open = func() (input.Source, error) { return source, nil }
	d := run(t, c)
	one, other := d.browse(), d.browse()
	open := func() int {
		d.streams.mu.Lock()
		defer d.streams.mu.Unlock()
		return len(d.streams.open)
	}
	d.until("both pages stream", func() bool { return open() == 2 })
	eval[bool](other, hear)
	one.close()
	d.until("the closed page is forgotten", func() bool { return open() == 1 })
	rows, before := eval[int](other, "heard.rows"), len(source.all())
	other.sees("more rows", fmt.Sprintf("heard.rows > %d", rows+50))
	if sampled := len(source.all()) - before; sampled < 50 {
		t.Errorf("%d rows were sampled meanwhile", sampled)
	}
	// It comes back by itself where the stream broke off.
	if err := d.sampler.look(); err != nil {
		t.Fatal(err)
	}
	other.sees("rows after the rig was opened anew", fmt.Sprintf("heard.rows > %d", eval[int](other, "heard.rows")+20))
}

// Fast at rest, and with reduced motion once a second.
func TestPageMotion(t *testing.T) {
	for preference, slow := range map[string]bool{"no-preference": false, "reduce": true} {
		d := run(t, config(t))
		p := newPage(d)
		p.prefers(map[string]string{"prefers-reduced-motion": preference})
		p.first(`window.drawn = [];
			const clear = CanvasRenderingContext2D.prototype.clearRect;
			CanvasRenderingContext2D.prototype.clearRect = function (...all) {
				if (this.canvas.id === "strip") drawn.push(document.timeline.currentTime);
				return clear.apply(this, all);
			};`)
		p.visit(d.base + "/?token=" + d.token)
		shortest := "Math.min(...drawn.slice(1).map((t, i) => t - drawn[i]))"
		if slow {
			p.sees("four drawings", "drawn.length >= 4")
			if ms := eval[float64](p, shortest); ms < 990 {
				t.Errorf("with reduced motion two drawings are %g ms apart", ms)
			}
		} else {
			p.sees("two drawings shortly after each other", shortest+" < 500")
		}
		if n := eval[int](p, "document.getAnimations().length"); n != 0 {
			t.Errorf("%d animations run", n)
		}
	}
}
