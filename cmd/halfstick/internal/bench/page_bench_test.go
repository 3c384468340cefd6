package bench

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"halfstick/input"
)

// dated is a counting source that knows when it gave each row.
type dated struct {
	counting
	dating sync.Mutex
	at     map[int16]time.Time // by the first axis's counts
}

func (s *dated) Poll(counts []int16, present []bool) error {
	err := s.counting.Poll(counts, present)
	s.dating.Lock()
	defer s.dating.Unlock()
	s.at[counts[0]] = time.Now()
	return err
}

// BenchmarkPage opens the page in a browser and watches it for some seconds: how
// long the newest row of each event takes from the source to the page, and how
// many frames a second are drawn of the strip.
func BenchmarkPage(b *testing.B) {
	const events = 300
	source := &dated{at: map[int16]time.Time{}}
	c := withRecording(b, config(b))
	c.RateHz = 500
	c.Open = func() (input.Source, error) { return source, nil }
	d := run(b, c)
	p := newPage(d)
	p.first(`window.drawn = 0;
		const clear = CanvasRenderingContext2D.prototype.clearRect;
		CanvasRenderingContext2D.prototype.clearRect = function (...all) {
			if (this.canvas.id === "strip") drawn++;
			return clear.apply(this, all);
		};`)
	p.visit(d.base + "/?token=" + d.token)
	p.seesAxis("rudder")
	var took []float64
	var frames, seconds float64
	for b.Loop() {
		heard := eval[struct {
			Rows    [][2]float64 // counts of the newest, milliseconds since 1970
			Frames  float64
			Seconds float64
		}](p, fmt.Sprintf(`import("/web/stream.js").then((stream) => new Promise((done) => {
			const rows = [], before = drawn, since = performance.now();
			stream.on("rows", ({ counts }) => {
				if (rows.length === %[1]d) return;
				rows.push([counts[0].at(-1), performance.timeOrigin + performance.now()]);
				if (rows.length === %[1]d) done({ Rows: rows, Frames: drawn - before, Seconds: (performance.now() - since) / 1000 });
			});
		}))`, events))
		frames, seconds = frames+heard.Frames, seconds+heard.Seconds
		source.dating.Lock()
		for _, row := range heard.Rows {
			given := source.at[int16(row[0])]
			took = append(took, row[1]-float64(given.UnixNano())/1e6)
		}
		source.dating.Unlock()
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms-p50")
	b.ReportMetric(took[len(took)*99/100], "ms-p99")
	b.ReportMetric(frames/seconds, "frames/s")
	b.ReportMetric(0, "ns/op")
}
