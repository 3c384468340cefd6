package figures

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halfstick/fit/measure"
)

const (
	halfWidth  = vg.Length(360) // of a sheet's column
	halfHeight = vg.Length(144)
	restTitle  = "At rest"
	// columns is how many stretches of time a strip is thinned to; each keeps
	// its least and its greatest reading, so no spike is lost.
	columns = 330
	// typical is how many robust standard deviations of rest noise the strip
	// shows; what lies beyond is marked at the edge.
	typical = 8
)

// Rest draws the counts of an axis at rest against time, and beside it, on
// the same scale of counts, how often each was read.
func Rest(a *measure.Axis) *Figure {
	if a == nil || len(a.Plots.RestCounts) < 2 || len(a.Plots.RestCounts) != len(a.Plots.RestSeconds) {
		return without(halfWidth, halfHeight, restTitle, "no stretch at rest was recorded")
	}
	seconds, counts := a.Plots.RestSeconds, a.Plots.RestCounts
	low, high := restWindow(counts, stepOf(a))
	beyond := 0
	for _, v := range counts {
		if v < low || v > high {
			beyond++
		}
	}
	lay := func(c draw.Canvas) []laid {
		strip := restStrip(seconds, counts, low, high)
		if beyond > 0 {
			strip.Title.Text = fmt.Sprintf("%s; %d readings beyond", restTitle, beyond)
		}
		histogram := restHistogram(counts, low, high, stepOf(a))
		c = draw.Crop(c, 4, -10, 2, -4)
		left, right := tile(c, 0, 0.70, 0, 1), tile(c, 0.72, 1, 0, 1)
		strip.Draw(left)
		histogram.Draw(right)
		return []laid{{strip, strip.DataCanvas(left).Rectangle}, {histogram, histogram.DataCanvas(right).Rectangle}}
	}
	return &Figure{
		width: halfWidth, height: halfHeight,
		says:  fmt.Sprintf("Counts of %s at rest over %.0f seconds, and their histogram", a.Label, seconds[len(seconds)-1]-seconds[0]),
		draw:  func(c draw.Canvas) { lay(c) },
		areas: lay,
	}
}

func stepOf(a *measure.Axis) float64 {
	if a.Step == nil || !(a.Step.Value >= 1) {
		return 1
	}
	return a.Step.Value
}

// restWindow is the range of counts to show: all of them, unless some are far
// outside the ordinary noise.
func restWindow(counts []float64, step float64) (low, high float64) {
	sorted := slices.Sorted(slices.Values(counts))
	at := func(share float64) float64 { return sorted[int(share*float64(len(sorted)-1))] }
	median := at(0.5)
	// A Gaussian's quartiles are 1.349 σ apart.
	sigma := max((at(0.75)-at(0.25))/1.349, step/2)
	low = max(sorted[0], median-typical*sigma)
	high = min(sorted[len(sorted)-1], median+typical*sigma)
	pad := max(0.06*(high-low), step)
	return low - pad, high + pad
}

func restStrip(seconds, counts []float64, low, high float64) *plot.Plot {
	p := newPanel(restTitle, "time, s", "counts")
	line, beyond := thinned(seconds, counts, low, high)
	p.Add(&plotter.Line{XYs: line, LineStyle: draw.LineStyle{Color: inkBlue.light, Width: 0.7}})
	for _, q := range beyond {
		p.Add(marks(plotter.XYs{q}, inkVermilion, 2.5, draw.PyramidGlyph{}))
	}
	p.X.Min, p.X.Max = seconds[0], max(seconds[len(seconds)-1], seconds[0]+1e-3)
	p.Y.Min, p.Y.Max = low, high
	p.Y.Tick.Marker = ticks{about: 5}
	return p
}

// thinned keeps the least and the greatest reading of each of columns
// stretches of time, and apart from them what lies beyond the window, moved to
// its edge.
func thinned(seconds, counts []float64, low, high float64) (line, beyond plotter.XYs) {
	from, width := seconds[0], seconds[len(seconds)-1]-seconds[0]
	column, a, b := -1, plotter.XY{}, plotter.XY{}
	flush := func() {
		if column < 0 {
			return
		}
		if a.X > b.X {
			a, b = b, a
		}
		line = append(line, a, b)
	}
	for i, v := range counts {
		q := plotter.XY{X: seconds[i], Y: v}
		if v < low || v > high {
			beyond = append(beyond, plotter.XY{X: q.X, Y: min(max(v, low), high)})
			continue
		}
		at := 0
		if width > 0 {
			at = int(columns * (q.X - from) / width)
		}
		if at != column {
			flush()
			column, a, b = at, q, q
		}
		if v < a.Y {
			a = q
		}
		if v > b.Y {
			b = q
		}
	}
	flush()
	return line, beyond
}

func restHistogram(counts []float64, low, high, step float64) *plot.Plot {
	p := newPanel("How often", "% of readings", "")
	bars := histogramBars(counts, low, high, step)
	most := 0.0
	for _, b := range bars {
		most = max(most, b.x1)
	}
	p.Add(rectangles{bars, inkBlue.light})
	p.X.Min, p.X.Max = 0, 1.08*most
	p.X.Tick.Marker = ticks{about: 3}
	p.Y.Min, p.Y.Max = low, high
	p.Y.Tick.Marker = ticks{about: 5, bare: true}
	return p
}

// histogramBars are the shares, in percent of all readings, of the counts
// between low and high. Bins are whole steps wide, or some would hold a code
// more than others, and lie about the codes that they count.
func histogramBars(counts []float64, low, high, step float64) []box {
	width := step * math.Ceil((high-low)/step/40)
	lowest := high
	for _, v := range counts {
		if v >= low {
			lowest = min(lowest, v)
		}
	}
	first := lowest - step/2
	bins := make([]float64, int((high-first)/width)+1)
	for _, v := range counts {
		if v >= low && v <= high {
			bins[int((v-first)/width)] += 100 / float64(len(counts))
		}
	}
	var bars []box
	for i, share := range bins {
		if share > 0 {
			at := first + float64(i)*width
			bars = append(bars, box{0, share, at + 0.08*width, at + 0.92*width})
		}
	}
	return bars
}
