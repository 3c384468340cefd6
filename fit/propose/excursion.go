package propose

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
	"halfstick/fit/measure"
	"halfstick/fit/stats"
)

const usualReportHz = 1000.0 // where the report rate is not known: the fastest there is

// excursion is how far the noise takes an axis that rests, in counts.
type excursion struct {
	counts float64
	sigmas float64 // h
	tail   string  // what the rest said beyond σ, "" if nothing
	wider  bool    // the tail widened it
	short  string  // what it leaves out, so that the rate is not kept; "" if nothing

	spiky *excursion // with the spikes, where these go farther
}

// noiseExcursion returns the half-width of the band that the noise leaves as
// often as accepted: h·σ for a Gaussian sequence with the measured lag-1
// correlation (Owen 1956; stats.ExcursionForRate), and half a step, by which
// rounding moves a reading; at least a step, as noise too small to be seen where
// the axis rested may turn a reading into the next elsewhere. Where the recorded
// rest left that band more often than chance allows, the peaks beyond it decide, and
// wherever spikes were seen, at rest or in the settled ends of releases, their height.
func noiseExcursion(a *measure.Axis, perMinute float64) excursion {
	sigma := restingNoise(a)
	hz, rho := reportsOf(a)
	if q := a.Timing.ReportHz; q != nil && q.Low == nil {
		hz = math.Max(hz, usualReportHz) // without an interval it is a lower bound
	}
	h := stats.ExcursionForRate(perMinute, hz, rho)
	e := excursion{counts: math.Max(h*sigma+stepOf(a)/2, stepOf(a)), sigmas: h}
	// A reading and the running median of readings are rounded, both.
	noise, spikes := restPeaks(a.Plots, e.counts+stepOf(a)/2).parted(measure.SpikeSize(sigma, stepOf(a)))
	spikes.heights = append(spikes.heights, a.Plots.SettledSpikes...)
	spikes.minutes += a.Plots.SettledSeconds / 60
	e.widenForTail(noise, perMinute, false)
	spiky := e
	if spiky.widenForTail(spikes, perMinute, true); spiky.counts > e.counts {
		e.spiky = &spiky
	}
	return e
}

// settled decides whether the deadband holds spikes back: only where no side, with
// where it may rest in u and its counts a u, becomes wider than a person can live
// with. For what does not fit, the sensor is to be mended.
func (e excursion) settled(resting, perU []float64) excursion {
	if e.spiky == nil {
		return e
	}
	widestSide := 0.0
	for i, rest := range resting {
		widestSide = math.Max(widestSide, rest+e.spiky.counts/perU[i])
	}
	if widestSide <= liveable {
		return *e.spiky
	}
	e.short = fmt.Sprintf("spikes are not held back, so that there will be more false motions than that: it would take a half-width of %s, and with more than %s nobody can live (common practice, no source): look for a loose contact rather than hide it",
		percent(widestSide), percent(liveable))
	return e
}

// restingNoise is the noise where the axis rests, in counts: at rest, or in the
// settled ends of releases where it is surely more, as they may lie in a worn band.
func restingNoise(a *measure.Axis) float64 {
	rest, settled := a.Rest.Sigma, a.Return.Sigma
	if settled != nil && settled.Low != nil && rest.High != nil && *settled.Low > *rest.High {
		return settled.Value
	}
	return rest.Value
}

// unseenSpikes says how often spikes may come of which the recording showed none,
// and for how long to rest so that at most as many may come as are accepted: a rate
// λ shows none in a time T with probability exp(−λT), so that the upper end of the
// 95 % interval is 3/T. It is "" where spikes were seen, or nothing is known.
func unseenSpikes(q *measure.Quantity, perMinute float64) string {
	if q == nil || q.Value > 0 || q.High == nil || *q.High <= perMinute {
		return ""
	}
	seen := -math.Log(0.05) / *q.High
	need := -math.Log(0.05) / perMinute
	return fmt.Sprintf("no spike came in the %s s that it was seen at rest, so that as many as %s a minute may have stayed unseen (95 %%); how high they are is not known, and they are not counted: rest %s minutes more to rule them out",
		number(math.Round(60*seen)), number(*q.High), number(math.Ceil(need-seen)))
}

// reportsOf is how often the device reports and how much a report at rest
// resembles the one before.
func reportsOf(a *measure.Axis) (hz, rho float64) {
	hz = usualReportHz
	if q := a.Timing.ReportHz; q != nil && q.Value > 0 {
		hz = q.Value
	}
	if q := a.Rest.Correlation; q != nil {
		rho = math.Min(math.Max(q.Value, -0.99), 0.99)
	}
	return hz, rho
}

func stepOf(a *measure.Axis) float64 {
	if a.Step == nil {
		return 1
	}
	return a.Step.Value
}

// peaks are the largest deviations, in counts, of the runs that left a band
// while the axis rested, and for how long it was watched.
type peaks struct {
	beyond  float64
	heights []float64
	minutes float64
}

// restPeaks takes the deviations from the running median of a second, which
// follows drift but not noise. Runs closer than 50 ms are one.
func restPeaks(p measure.Plots, beyond float64) peaks {
	n := len(p.RestCounts)
	if n < 3 || len(p.RestSeconds) != n {
		return peaks{beyond: beyond}
	}
	seconds := p.RestSeconds[n-1] - p.RestSeconds[0]
	perSecond := float64(n-1) / seconds
	middle := stats.MedianFilter(p.RestCounts, int(perSecond)|1)
	out := peaks{beyond: beyond, minutes: seconds / 60}
	last := math.Inf(-1)
	for i, c := range p.RestCounts {
		d := math.Abs(c - middle[i])
		if d <= beyond {
			continue
		}
		if top := len(out.heights) - 1; p.RestSeconds[i]-last < 0.05 && top >= 0 {
			out.heights[top] = math.Max(out.heights[top], d)
		} else {
			out.heights = append(out.heights, d)
		}
		last = p.RestSeconds[i]
	}
	return out
}

// parted divides the peaks into those that noise may reach and spikes.
func (p peaks) parted(spike float64) (noise, spikes peaks) {
	noise = peaks{beyond: p.beyond, minutes: p.minutes}
	spikes = peaks{beyond: math.Max(p.beyond, spike), minutes: p.minutes}
	for _, h := range p.heights {
		if h < spikes.beyond {
			noise.heights = append(noise.heights, h)
		} else {
			spikes.heights = append(spikes.heights, h)
		}
	}
	return noise, spikes
}

// widenForTail replaces the Gaussian excursion where there are spikes, or where more
// runs left it than a Poisson count of the promised rate would bring in one of forty
// recordings: by the generalised Pareto level of the peaks that is reached as often
// as accepted, or, with fewer peaks than the fit needs, by the highest of the n peaks
// and an nth more.
func (e *excursion) widenForTail(p peaks, perMinute float64, spikes bool) {
	n := len(p.heights)
	if n == 0 {
		return
	}
	expected := distuv.Poisson{Lambda: perMinute * p.minutes}
	highest := slices.Max(p.heights)
	if !spikes && 1-expected.CDF(float64(n-1)) > 0.025 {
		e.tail = fmt.Sprintf("the noise left it %d times in %s s of rest, no oftener than chance may bring, which is not counted; rest longer to know", n, number(60*p.minutes))
		return
	}
	rate := float64(n) / p.minutes
	level := highest * (1 + 1/float64(n))
	how := fmt.Sprintf("the highest of %d peaks and 1/%d more", n, n)
	if tail, err := stats.PeaksOverThreshold(p.heights, p.beyond); err == nil && tail.Shape > -0.5 {
		if x := tail.Level(perMinute / rate); x > p.beyond {
			level = x
			low, high := tail.LevelInterval(perMinute/rate, 0.95)
			how = fmt.Sprintf("a generalised Pareto tail through %d peaks, shape %.2f, which reaches %s counts as often (95 %% interval %s to %s)", n, tail.Shape, number(x), number(low), number(high))
		}
	}
	if level > e.counts {
		e.counts, e.wider = level, true
		e.tail = fmt.Sprintf("spikes or heavy tails left ±%s counts %s where it rested, so the excursion comes from %s", number(p.beyond), often(rate), how)
	}
}
