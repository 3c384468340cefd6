package measure

import (
	"math"
	"sort"

	"halfstick/fit/stats"
)

const (
	edgeStep  = 0.0005 // of the throw: places tried for a worn band's end
	edgeReach = 0.06   // of the throw: so far from where it was found
	edgeLoud  = 5.0    // deviations of the band: a residual counts as no more
	// edgeDrop is how far the log likelihood falls to the ends of a 95 % set of
	// places of a change: ξ = 2·edgeDrop solves (1−exp(−ξ/2))² = 0.95. Hansen,
	// Econometrica 68 (2000) 575, equation 12 and its table (from memory).
	edgeDrop = 3.676
)

// wornFit is a worn band as its residuals show it: ends in u, and the mean
// squares of residuals well outside and well inside.
type wornFit struct {
	from, to, out, in float64
	energy            []float64 // see kernelEnergy
}

// kernelEnergy gives, for k = 0…2m, how much of a residual's variance comes from
// reports at offsets up to k−m, m half a window: the running parabola carries
// noise of the band into residuals outside of it, and some calm into it.
func kernelEnergy(window int) []float64 {
	w, err := stats.SavitzkyGolay(window, 2, 0)
	if err != nil {
		return []float64{1}
	}
	m := window / 2
	sum := make([]float64, window)
	total := 0.0
	for i, v := range w {
		h := -v
		if i == m {
			h = 1 - v
		}
		total += h * h
		sum[i] = total
	}
	for i := range sum {
		sum[i] /= total
	}
	return sum
}

// share is how much of the variance of a residual comes from reports inside, for
// an end that lies d reports further out; negative if the residual is outside.
func (f *wornFit) share(d float64) float64 {
	m := len(f.energy) / 2
	k := int(math.Floor(d)) + m
	switch {
	case k < 0:
		return 0
	case k >= len(f.energy):
		return 1
	}
	return f.energy[k]
}

// inside is the share of a residual's variance that comes from within the band;
// pace is how far u moves from report to report.
func (f *wornFit) inside(u, pace float64) float64 {
	return math.Max(0, f.share((u-f.from)/pace)+f.share((f.to-u)/pace)-1)
}

// moment is a residual as a band's end sees it.
type moment struct{ u, pace, square float64 }

// moments are the residuals, evened to one speed, with their pace in u.
func (a *analysis) moments(res []residual) []moment {
	even := a.evened(res)
	out := make([]moment, len(res))
	for i, r := range res {
		half := a.halfThrow(r.u > 0)
		out[i] = moment{u: r.u, pace: math.Max(1e-9, math.Abs(r.v)/half), square: even[i] * even[i]}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].u < out[j].u })
	return out
}

// levels fits the two mean squares to given ends. Loud residuals count as no
// more than edgeLoud deviations, or spikes would speak for the band.
func (f *wornFit) levels(all []moment) {
	var out, n float64
	for _, m := range all {
		if f.inside(m.u, m.pace) < 0.01 {
			out += math.Min(m.square, edgeLoud*edgeLoud*f.out)
			n++
		}
	}
	if n > 0 && out > 0 {
		f.out = out / n
	}
	var over, shares float64
	for _, m := range all {
		if s := f.inside(m.u, m.pace); s >= 0.5 {
			over += math.Min(m.square, edgeLoud*edgeLoud*f.in) - f.out
			shares += s
		}
	}
	if shares > 0 {
		f.in = math.Max(1.05*f.out, f.out+over/shares)
	}
}

// logL is the likelihood of the moments of a stretch of u.
func (f *wornFit) logL(part []moment) float64 {
	sum := 0.0
	var of, logV float64 // the same for all that lie well within the band or well outside
	for _, m := range part {
		v := f.out + (f.in-f.out)*f.inside(m.u, m.pace)
		if v != of {
			of, logV = v, math.Log(v)
		}
		sum -= 0.5 * (logV + math.Min(m.square, edgeLoud*edgeLoud*v)/v)
	}
	return sum
}

// worth is the share of the residuals about an end that are independent. Noise
// may be correlated, and about an end the running fit carries the same few loud
// reports into many residuals; of squares with correlations ρ_k of the residuals
// in their logarithms, 1/(1 + 2·Σρ_k²) are independent.
func (f *wornFit) worth(a *analysis, res []residual, end float64) float64 {
	w := len(f.energy)
	even := a.evened(res)
	sums := make([]float64, w) // of products of standardised residuals, by lag
	n := make([]float64, w)
	scaled := make([]float64, len(res))
	near := make([]bool, len(res))
	for i, r := range res {
		pace := math.Max(1e-9, math.Abs(r.v)/a.halfThrow(r.u > 0))
		near[i] = math.Abs(r.u-end) <= float64(w)*pace
		v := f.out + (f.in-f.out)*f.inside(r.u, pace)
		scaled[i] = math.Max(-edgeLoud, math.Min(edgeLoud, even[i]/math.Sqrt(v)))
	}
	for i := range res {
		for j := i; near[i] && j < len(res) && near[j] && res[j].way == res[i].way && res[j].at-res[i].at < w; j++ {
			k := res[j].at - res[i].at
			sums[k] += scaled[i] * scaled[j]
			n[k]++
		}
	}
	if n[0] == 0 || sums[0] == 0 {
		return 1
	}
	total := 1.0
	for k := 1; k < w; k++ {
		if n[k] >= 10 {
			rho := sums[k] / n[k] / (sums[0] / n[0])
			total += 2 * math.Max(0, rho*rho-1/n[k]) // less what chance brings
		}
	}
	return 1 / total
}

// edge places one end by likelihood, the other held, and gives the set of places
// that the residuals allow, to the next place that they do not, worth being how many of them are independent. Where
// a stretch of places is equally likely, as between two reports or where no
// sweep shows the noise, the middle of it is taken.
func (f *wornFit) edge(all []moment, upper bool, least, worth float64) (at, low, high float64) {
	end, other := &f.from, f.to
	if upper {
		end, other = &f.to, f.from
	}
	start, unit := *end, (1-least)*edgeStep
	reach := (1 - least) * edgeReach
	from, to := math.Max(least, start-reach), math.Min(1, start+reach)
	if upper {
		from = math.Max(from, other+2*unit)
	} else {
		to = math.Min(to, other-2*unit)
	}
	// Beyond half a window from every place tried, nothing depends on it.
	span := 0.0
	for _, m := range all {
		span = math.Max(span, m.pace)
	}
	span *= float64(len(f.energy)/2 + 1)
	i := sort.Search(len(all), func(i int) bool { return all[i].u >= from-span })
	j := sort.Search(len(all), func(i int) bool { return all[i].u > to+span })
	part := all[i:j]
	var places, logs []float64
	best := math.Inf(-1)
	for u := from; u <= to+1e-9; u += unit {
		*end = u
		l := f.logL(part)
		places, logs = append(places, u), append(logs, l)
		best = math.Max(best, l)
	}
	*end = start
	if len(places) == 0 {
		return start, start, start
	}
	low, high = math.Inf(1), math.Inf(-1)
	top, bottom := math.Inf(-1), math.Inf(1)
	for k, u := range places {
		if logs[k] >= best-1e-6 {
			bottom, top = math.Min(bottom, u), math.Max(top, u)
		}
		if (best-logs[k])*worth <= edgeDrop {
			low, high = math.Min(low, u), math.Max(high, u)
		}
	}
	return (bottom + top) / 2, low - unit, high + unit
}
