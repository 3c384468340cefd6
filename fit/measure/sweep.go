package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	bandCount   = 20
	leastInBand = 25  // residuals to speak of a band's noise
	levelTrim   = 4.0 // robust deviations: beyond, a residual is not of the place
)

// sweep measures what slow sweeps show.
func (a *analysis) sweep() {
	segs := a.series.of(input.Sweep)
	if !a.hasTravel || len(segs) == 0 {
		return
	}
	var kept []segment
	var ways []traverse
	for _, g := range segs {
		if r := a.sweepReports(g); len(r.x) >= 4*fitLeast {
			kept, ways = append(kept, r), append(ways, a.traverses(r)...)
		}
	}
	res := a.allResiduals(kept, a.window())
	if w := a.placeWindow(res); w > a.window() {
		res = a.allResiduals(kept, w)
	}
	a.countWays(ways)
	a.plateaus(ways)
	res = a.unbent(res)
	a.levelled(res)
	a.jitter = a.jitterOf(res)
	a.bands(res)
	a.worn(res)
	a.hysteresisOf(ways)
	a.jumps(ways)
}

// window is the length of the running fit in reports, odd.
func (a *analysis) window() int {
	return max(fitLeast, int(fitSeconds/a.reportSeconds())|1)
}

// levelled takes off what the residuals of one place have in common: a corner
// in the reading bends the running fit alike in every way, noise does not. What a
// spike has left in one way is not in common, and must not get into all of them.
func (a *analysis) levelled(res []residual) {
	from := a.leastU()
	width := (1 - from) / wornBins
	bins := make([][]int, wornBins)
	for i, r := range res {
		b := min(wornBins-1, max(0, int((r.u-from)/width)))
		bins[b] = append(bins[b], i)
	}
	for _, in := range bins {
		if len(in) < 4 {
			continue
		}
		x := make([]float64, len(in))
		for k, i := range in {
			x[k] = res[i].r
		}
		middle, far := stats.Median(x), levelTrim*stats.MAD(x)
		sum, n := 0.0, 0.0
		for _, v := range x {
			if math.Abs(v-middle) <= far {
				sum, n = sum+v, n+1
			}
		}
		if n < 4 {
			continue
		}
		for _, i := range in {
			res[i].r = (res[i].r - sum/n) * math.Sqrt(n/(n-1))
		}
	}
}

// jitter is the part of the residuals that comes from not knowing when a report
// was made: c·v², v the speed in counts a report, c a squared share of the
// report interval. low and high bound c.
type jitter struct{ c, low, high float64 }

// jitterOf compares the noise in sweeps with that at rest, both about the same
// running fit: what sweeps have more of goes with the square of the speed. The
// median over bands keeps a worn band out.
func (a *analysis) jitterOf(res []residual) jitter {
	if !a.hasRestResidual {
		return jitter{}
	}
	var per []float64
	for _, in := range a.inBands(res) {
		if len(in) < leastInBand {
			continue
		}
		sd, _ := trimmed(deviationsOf(in))
		if v := meanSquareSpeed(in); v > 0 {
			per = append(per, (sd*sd-math.Max(a.restResidual, a.step*a.step/12))/v)
		}
	}
	if len(per) < 4 {
		return jitter{}
	}
	mid := stats.Median(per)
	half := 1.58 * (stats.Quantile7(per, 0.75) - stats.Quantile7(per, 0.25)) / math.Sqrt(float64(len(per)))
	return jitter{c: math.Max(0, mid), low: math.Max(0, mid-half), high: math.Max(0, mid+half)}
}

func deviationsOf(res []residual) []float64 {
	out := make([]float64, len(res))
	for i, r := range res {
		out[i] = r.r
	}
	return out
}

func meanSquareSpeed(res []residual) float64 {
	sum := 0.0
	for _, r := range res {
		sum += r.v * r.v
	}
	return sum / math.Max(1, float64(len(res)))
}

// leastU is the lower end of u.
func (a *analysis) leastU() float64 {
	if a.oneSided() {
		return 0
	}
	return -1
}

// inBands sorts residuals into bandCount equal bands of u.
func (a *analysis) inBands(res []residual) [][]residual {
	from := a.leastU()
	width := (1 - from) / bandCount
	band := func(r residual) int { return int(math.Floor((r.u - from) / width)) }
	var sizes [bandCount]int
	for _, r := range res {
		if i := band(r); i >= 0 && i < bandCount {
			sizes[i]++
		}
	}
	in := make([][]residual, bandCount)
	for i, n := range sizes {
		in[i] = make([]residual, 0, n)
	}
	for _, r := range res {
		if i := band(r); i >= 0 && i < bandCount {
			in[i] = append(in[i], r)
		}
	}
	return in
}

// bands gives the noise in bandCount equal bands of u.
func (a *analysis) bands(res []residual) {
	from := a.leastU()
	width := (1 - from) / bandCount
	for i, x := range a.inBands(res) {
		b := Band{Span: Span{From: round2(from + float64(i)*width), To: round2(from + float64(i+1)*width)}}
		if len(x) >= leastInBand {
			b.Sigma = a.bandSigma(x)
		}
		a.out.Sweep.Bands = append(a.out.Sweep.Bands, b)
	}
}

func round2(x float64) float64 { return math.Round(x*100) / 100 }

func (a *analysis) bandSigma(res []residual) *Quantity {
	sd, n := trimmed(deviationsOf(res))
	// Residuals of one fit share its error: some 1/w of them are not free.
	free := float64(n) * (1 - 3/float64(a.window()))
	lo, hi := stats.SigmaInterval(sd, free, 0.95)
	v := meanSquareSpeed(res)
	without := func(s, c float64) float64 {
		s = math.Sqrt(math.Max(0, s*s-c*v))
		if a.hasGrid {
			s = sheppard(s, a.step)
		}
		return s
	}
	return notNegative(within(without(sd, a.jitter.c), without(lo, a.jitter.high), without(hi, a.jitter.low), unitCounts, n, fmt.Sprintf(
		"deviation of the reports from a running parabola over %d reports, each over √(1−leverage), spikes and stands out, rounding and what uneven times add at the way's speed taken off; noise slower than the window is not in it", a.window())))
}
