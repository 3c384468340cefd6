package measure

import (
	"math"

	"halfstick/input"
)

const (
	wornBins     = 200     // of u: 0.5 % of throw each
	wornLeast    = 60      // residuals outside and 20 inside
	wornEvidence = 20.0    // log likelihood ratio; chance in quiet axes below 1e-4 by simulation
	wornWidest   = 0.5     // of u's range: a wider stretch is no band
	wornWays     = 0.7     // share of the ways that must be noisier there
	wornPart     = 1.0 / 3 // of the logarithm of the ratio of power that a way must show to be louder
	wornCap      = 3.0     // deviations of the stretch that one residual counts for at most in its way
	wornFloor    = 1.25    // ratio below which a band is not worth a name
	unevenLeast  = 0.05    // of the motion from report to report: what a device's own jitter of 5 % may make, and half again
	unevenRows   = 0.1     // more where a report lasts one row, falling with the square of the rows
)

// wornSums are running sums of squares and numbers over bins of u.
type wornSums struct {
	sq, n []float64 // length wornBins+1
}

func (a *analysis) sums(res []residual) wornSums {
	from := a.leastU()
	width := (1 - from) / wornBins
	s := wornSums{sq: make([]float64, wornBins+1), n: make([]float64, wornBins+1)}
	all := a.evened(res)
	// One wild residual must not make a band of its own bin.
	most := 12 * math.Max(roughSigma(all), a.step/4)
	for k, r := range res {
		i := min(wornBins-1, max(0, int((r.u-from)/width)))
		v := math.Max(-most, math.Min(most, all[k]))
		s.sq[i+1] += v * v
		s.n[i+1]++
	}
	for i := range wornBins {
		s.sq[i+1] += s.sq[i]
		s.n[i+1] += s.n[i]
	}
	return s
}

// evened scales residuals to what they would be at the sweeps' mean speed, so
// that a fast stretch does not pass for a noisy one.
func (a *analysis) evened(res []residual) []float64 {
	out := deviationsOf(res)
	if a.jitter.c == 0 {
		return out
	}
	still := math.Max(a.restResidual, a.step*a.step/12)
	usual := still + a.jitter.c*meanSquareSpeed(res)
	for i, r := range res {
		out[i] *= math.Sqrt(usual / (still + a.jitter.c*r.v*r.v))
	}
	return out
}

// inMostWays tells whether a stretch with so much more power than the rest of
// the throw is louder in most ways that pass through it. A stall or a slip of the
// hand is in one way only; worn track is in all. One report must not speak for a
// way, so that none counts for more than wornCap deviations of the stretch.
func (a *analysis) inMostWays(res []residual, lo, hi, in, out float64) bool {
	type power struct{ in, nIn, out, nOut float64 }
	ways := map[int]*power{}
	most := wornCap * wornCap * in
	for k, v := range a.evened(res) {
		r := res[k]
		p := ways[r.way]
		if p == nil {
			p = &power{}
			ways[r.way] = p
		}
		if r.u >= lo && r.u < hi {
			p.in, p.nIn = p.in+math.Min(most, v*v), p.nIn+1
		} else {
			p.out, p.nOut = p.out+math.Min(most, v*v), p.nOut+1
		}
	}
	least := math.Pow(in/out, wornPart)
	louder, of := 0, 0
	for _, p := range ways {
		if p.nIn < 5 || p.nOut < 20 {
			continue
		}
		of++
		if p.in/p.nIn > least*p.out/p.nOut {
			louder++
		}
	}
	return float64(louder) >= wornWays*float64(of)
}

// ratio is the log likelihood ratio of the noise in bins [i, j) being louder
// than outside, against one noise everywhere; 0 where it is not louder.
func (s wornSums) ratio(i, j int) float64 {
	n, sq := s.n[wornBins], s.sq[wornBins]
	n1, sq1 := s.n[j]-s.n[i], s.sq[j]-s.sq[i]
	n0, sq0 := n-n1, sq-sq1
	if n1 < 20 || n0 < wornLeast || sq0 <= 0 || sq1/n1 <= sq0/n0 {
		return 0
	}
	return 0.5 * (n*math.Log(sq/n) - n1*math.Log(sq1/n1) - n0*math.Log(sq0/n0))
}

// withoutOne is the evidence for a stretch without the way that speaks most for
// it: one slip of the hand, one stall must not make a worn band.
func (a *analysis) withoutOne(res []residual, i, j int) float64 {
	ways := map[int]bool{}
	for _, r := range res {
		ways[r.way] = true
	}
	least := math.Inf(1)
	for way := range ways {
		var rest []residual
		for _, r := range res {
			if r.way != way {
				rest = append(rest, r)
			}
		}
		least = math.Min(least, a.sums(rest).ratio(i, j))
	}
	return least
}

// worn finds the stretch whose noise differs most from the rest of the throw.
func (a *analysis) worn(res []residual) {
	if len(res) < 2*wornLeast {
		return
	}
	s := a.sums(res)
	widest := int(wornWidest * wornBins)
	best, from, to := 0.0, 0, 0
	for i := range wornBins {
		for j := i + 1; j <= min(wornBins, i+widest); j++ {
			if l := s.ratio(i, j); l > best {
				best, from, to = l, i, j
			}
		}
	}
	if best < wornEvidence {
		return
	}
	at := func(i int) float64 { return a.leastU() + float64(i)*(1-a.leastU())/wornBins }
	n1, sq1 := s.n[to]-s.n[from], s.sq[to]-s.sq[from]
	in, out := sq1/n1, (s.sq[wornBins]-sq1)/(s.n[wornBins]-n1)
	if !a.inMostWays(res, at(from), at(to), in, out) || a.withoutOne(res, from, to) < wornEvidence/2 {
		return
	}
	f := &wornFit{from: at(from), to: at(to), in: in, out: out, energy: kernelEnergy(a.window())}
	all := a.moments(res)
	for range 2 {
		f.levels(all)
		f.from, _, _ = f.edge(all, false, a.leastU(), 1)
		f.to, _, _ = f.edge(all, true, a.leastU(), 1)
	}
	f.levels(all)
	var ends [4]float64
	f.from, ends[0], ends[1] = f.edge(all, false, a.leastU(), f.worth(a, res, f.from))
	f.to, ends[2], ends[3] = f.edge(all, true, a.leastU(), f.worth(a, res, f.to))
	q := a.wornRatio(res, f)
	if q == nil || q.Value < wornFloor || a.wornSigma < a.unevenShare()*math.Sqrt(meanSquareSpeed(res)) {
		return
	}
	a.out.Sweep.WornRatio = q
	a.out.Sweep.WornFrom = a.wornEnd(f.from, ends[0], ends[1], q.N)
	a.out.Sweep.WornTo = a.wornEnd(f.to, ends[2], ends[3], q.N)
}

// unevenShare is the share of the motion from report to report that reports at
// uneven times may pass off as noise here and there: much of it where a report
// lasts hardly longer than a row, as the clocks drift past each other.
func (a *analysis) unevenShare() float64 {
	rows := 1.0
	if !a.clock.atLeast {
		rows = math.Max(1, a.clock.period/math.Max(1e-6, a.series.rowTime))
	}
	return unevenLeast + unevenRows/(rows*rows)
}

// wornEnd is an end of the band. To the places that the noise allows comes that
// u itself is not known better than the centre and the stop it is counted from.
func (a *analysis) wornEnd(at, low, high float64, n int) *Quantity {
	spread := func(q *Quantity) float64 {
		if q == nil || q.Low == nil {
			return 0
		}
		return (*q.High - *q.Low) / 2
	}
	near, stop := a.out.Travel.Centre, a.out.Travel.High
	if a.oneSided() {
		near = a.out.Travel.Low
	} else if at < 0 {
		stop = a.out.Travel.Low
	}
	off := (1-math.Abs(at))*spread(near) + math.Abs(at)*spread(stop)
	if sweeps := a.series.of(input.Sweep); len(sweeps) > 0 {
		_, unsure := a.knownDrift()
		middle := (sweeps[0].t[0] + sweeps[len(sweeps)-1].t[0]) / 2
		off = math.Hypot(off, unsure*(a.placeSeconds(at, a.centreSeconds())-middle))
	}
	off /= a.halfThrow(at > 0)
	return within(at, math.Max(a.leastU(), at-math.Hypot(at-low, off)), math.Min(1, at+math.Hypot(high-at, off)), unitPosition, n,
		"end of the stretch whose noise differs most from the rest of the throw, by the likelihood of the residuals, what the running fit carries over the end included; interval: the places that the likelihood allows (Hansen 2000), and how well centre and stop are known")
}
