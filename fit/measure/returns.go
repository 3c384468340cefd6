package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	lastSeconds   = 1.0  // the end of a release stretch, where it came to rest
	leastRelease  = 1.5  // seconds of a stretch that can hold a release
	leastReleases = 3    // a side, to speak of a mean
	pushedShare   = 0.2  // of the half-throw: less is no push
	leftShare     = 0.9  // of the way from rest to the push: let go when below
	stillShare    = 0.01 // of the half-throw: the last second may drift so far
)

// release is one letting go.
type release struct {
	at      float64 // counts, mean of the last second
	seconds float64 // from letting go to rest
}

// returns measures where the axis comes to rest from either side.
func (a *analysis) returns() {
	if a.oneSided() {
		return
	}
	low := a.side(input.ReleaseLow, 0)
	high := a.side(input.ReleaseHigh, 1)
	a.out.Return.FromLow, a.out.Return.FromHigh = sideOf(low), sideOf(high)
	if len(low) >= 2 && len(high) >= 2 {
		a.out.Return.Gap = gap(low, high)
	}
	for i, n := range a.releases {
		if n < leastReleases {
			a.note("return from the %s side: %d releases; push it to the %s stop and let go %d times more",
				sideName(i), n, sideName(i), leastReleases-n)
		}
	}
}

func sideName(i int) string {
	if i == 0 {
		return "low"
	}
	return "high"
}

// side measures the releases of one side.
func (a *analysis) side(kind input.PhaseKind, which int) []release {
	var out []release
	for _, g := range a.series.of(kind) {
		r, ok := a.release(g, which == 1)
		if !ok {
			continue
		}
		out = append(out, r)
		a.out.Plots.Returns = append(a.out.Plots.Returns, ReleasePlot{FromHigh: which == 1, Resting: r.at, SettleSeconds: r.seconds})
	}
	a.releases[which] = len(out)
	return out
}

// release reads one release from its stretch. A stretch that is short, was not
// pushed, or still moves at its end is left out with a note.
func (a *analysis) release(g segment, fromHigh bool) (release, bool) {
	if g.seconds() < leastRelease {
		a.note("a release of %.1f s was left out: it needs at least %.1f s, the last one at rest", g.seconds(), leastRelease)
		return release{}, false
	}
	g = a.reports(g)
	x := a.withoutSpikes(g.x)
	end := g.t[len(g.t)-1]
	last := segment{t: g.t, x: x}.cut(end-lastSeconds, math.Inf(1))
	half := len(last.x) / 2
	at := centreOf(last.x)
	early, late := centreOf(last.x[:half]), centreOf(last.x[half:])
	throw := a.halfThrow(fromHigh)
	if math.Abs(late-early) > math.Max(stillShare*throw, math.Max(2*a.step, 3*a.noiseGuess)) {
		a.note("a release was left out: the axis still moved in its last second")
		return release{}, false
	}
	sign := 1.0
	if !fromHigh {
		sign = -1
	}
	push := 0.0
	for _, v := range x {
		push = math.Max(push, sign*(v-at))
	}
	if push < pushedShare*throw {
		a.note("a release was left out: the axis had not been pushed to its %s side", sideName(map[bool]int{false: 0, true: 1}[fromHigh]))
		return release{}, false
	}
	from := 0
	for i, v := range x {
		if sign*(v-at) >= leftShare*push {
			from = i
		}
	}
	tolerance := math.Max(stillShare*throw/2, math.Max(2*a.step, 5*a.noiseGuess))
	settled := len(x) - 1
	for settled > from && math.Abs(x[settled]-at) <= tolerance {
		settled--
	}
	return release{at: at, seconds: g.t[settled] - g.t[from]}, true
}

// centreOf is the mean of x with spikes left out.
func centreOf(x []float64) float64 {
	mid := stats.Median(x)
	scale := roughSigma(x)
	var sum, n float64
	for _, v := range x {
		if math.Abs(v-mid) <= 5*scale {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return mid
	}
	return sum / n
}

func sideOf(r []release) *ReturnSide {
	if len(r) == 0 {
		return nil
	}
	at, secs := make([]float64, len(r)), make([]float64, len(r))
	for i, v := range r {
		at[i], secs[i] = v.at, v.seconds
	}
	mean, lo, hi := stats.MeanInterval(at, 0.95)
	s := &ReturnSide{Mean: within(mean, lo, hi, unitCounts, len(at),
		"mean over the releases of the last second of each, spikes out")}
	_, sd := stats.MeanSD(at)
	if len(r) < 2 {
		sd = 0
	}
	slo, shi := stats.SigmaInterval(sd, float64(len(at)), 0.95)
	s.Spread = within(sd, slo, shi, unitCounts, len(at), "standard deviation over the releases")
	mean, lo, hi = stats.MeanInterval(secs, 0.95)
	s.Seconds = notNegative(within(mean, lo, hi, unitSeconds, len(secs),
		fmt.Sprintf("mean time from leaving %.0f %% of the push until it stays within %.1f %% of half-throw, 2 steps or 5 σ of where it rests", 100*leftShare, 50*stillShare)))
	return s
}

// gap is mean return from the high side minus mean return from the low side,
// with Welch's interval for two means of unequal scatter.
func gap(low, high []release) *Quantity {
	l, h := make([]float64, len(low)), make([]float64, len(high))
	for i, r := range low {
		l[i] = r.at
	}
	for i, r := range high {
		h[i] = r.at
	}
	ml, sl := stats.MeanSD(l)
	mh, sh := stats.MeanSD(h)
	vl, vh := sl*sl/float64(len(l)), sh*sh/float64(len(h))
	const how = "mean return from the high side minus mean return from the low side"
	if vl+vh == 0 {
		return within(mh-ml, mh-ml, mh-ml, unitCounts, len(l)+len(h), how+"; all releases of a side ended alike")
	}
	free := (vl + vh) * (vl + vh) / (vl*vl/float64(len(l)-1) + vh*vh/float64(len(h)-1))
	lo, hi := stats.MeanIntervalFrom(mh-ml, math.Sqrt((vl+vh)*(free+1)), free+1, 0.95)
	return within(mh-ml, lo, hi, unitCounts, len(l)+len(h), how+"; Welch's interval")
}
