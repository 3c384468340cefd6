package measure

import (
	"fmt"
	"math"

	"halfstick/fit/stats"
)

const (
	wornBins      = 200  // of u: 0.5 % of throw each
	wornLeast     = 60   // residuals outside and 20 inside
	wornEvidence  = 20.0 // log likelihood ratio; chance in quiet axes below 1e-4 by simulation
	wornWidest    = 0.5  // of u's range: a wider stretch is no band
	profileChance = 5.0  // drop of the likelihood for a worn band's ends: wider than the 1.92 of a smooth parameter, which the truth report showed to be too narrow; still short of 95 % there
	wornWays      = 0.7  // share of the ways that must be noisier there
	wornFloor     = 1.25 // ratio below which a band is not worth a name
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

// inMostWays tells whether a stretch is noisier than the rest of the throw in
// most ways that pass through it. A stall or a slip of the hand is in one way
// only; worn track is in all. Medians, as one report must not speak for a way.
func (a *analysis) inMostWays(res []residual, lo, hi float64) bool {
	inside, outside := map[int][]float64{}, map[int][]float64{}
	for k, v := range a.evened(res) {
		r := res[k]
		if r.u >= lo && r.u < hi {
			inside[r.way] = append(inside[r.way], math.Abs(v))
		} else {
			outside[r.way] = append(outside[r.way], math.Abs(v))
		}
	}
	louder, of := 0, 0
	for way, in := range inside {
		if out := outside[way]; len(in) >= 5 && len(out) >= 20 {
			of++
			if stats.Median(in) > wornFloor*stats.Median(out) {
				louder++
			}
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

// worn finds the stretch whose noise differs most from the rest of the throw.
func (a *analysis) worn(res []residual) {
	if len(res) < 2*wornLeast {
		return
	}
	s := a.sums(res)
	widest := int(wornWidest * wornBins)
	best, from, to := 0.0, 0, 0
	byFrom, byTo := make([]float64, wornBins+1), make([]float64, wornBins+1)
	for i := range wornBins {
		for j := i + 1; j <= min(wornBins, i+widest); j++ {
			l := s.ratio(i, j)
			byFrom[i], byTo[j] = math.Max(byFrom[i], l), math.Max(byTo[j], l)
			if l > best {
				best, from, to = l, i, j
			}
		}
	}
	if best < wornEvidence {
		return
	}
	at := func(i int) float64 { return a.leastU() + float64(i)*(1-a.leastU())/wornBins }
	if !a.inMostWays(res, at(from), at(to)) {
		return
	}
	q := a.wornRatio(res, s, from, to)
	if q == nil || q.Value < wornFloor {
		return
	}
	a.out.Sweep.WornRatio = q
	n := int(s.n[to] - s.n[from])
	a.out.Sweep.WornFrom = a.wornEdge(byFrom, best, from, n)
	a.out.Sweep.WornTo = a.wornEdge(byTo, best, to, n)
}

// wornEdge is an end of the band with its profile-likelihood interval, half a
// bin wider for the bins' own width.
func (a *analysis) wornEdge(profile []float64, best float64, at, n int) *Quantity {
	lo, hi := at, at
	for i, l := range profile {
		if l >= best-profileChance {
			lo, hi = min(lo, i), max(hi, i)
		}
	}
	from := a.leastU()
	width := (1 - from) / wornBins
	u := func(i float64) float64 { return from + i*width }
	return within(u(float64(at)), u(float64(lo)-0.5), u(float64(hi)+0.5), unitPosition, n,
		"end of the stretch whose noise differs most from the rest of the throw, by likelihood ratio; interval from its profile")
}

// wornRatio is the band's noise over that of the median band elsewhere, both
// with the rounding taken off.
func (a *analysis) wornRatio(res []residual, s wornSums, i, j int) *Quantity {
	base := a.leastU()
	width := (1 - base) / wornBins
	lo, hi := base+float64(i)*width, base+float64(j)*width
	var inside []residual
	for _, r := range res {
		if r.u >= lo && r.u < hi {
			inside = append(inside, r)
		}
	}
	in := a.bandSigma(inside)
	a.wornSigma = in.Value
	var others, lowest, highest []float64
	n := 0
	for _, b := range a.out.Sweep.Bands {
		if b.Sigma != nil && (b.To <= lo || b.From >= hi) {
			others = append(others, b.Sigma.Value)
			lowest, highest = append(lowest, edge(b.Sigma, -1)), append(highest, edge(b.Sigma, 1))
			n += b.Sigma.N
		}
	}
	if len(others) < 3 {
		return nil
	}
	// A band quieter than the rounding has no ratio to speak of, nor one that
	// uneven times hide down to the noise at rest.
	floor := a.step / math.Sqrt(12) / 2
	if a.jitter.c > 0 {
		floor = math.Max(floor, sheppard(math.Sqrt(a.restResidual), a.step))
	}
	calm := math.Max(stats.Median(others), floor)
	lowC, highC := stats.SigmaInterval(calm, float64(n)/2, 0.95)
	if a.jitter.c > 0 {
		lowC, highC = math.Max(floor, math.Min(lowC, stats.Median(lowest))), math.Max(highC, stats.Median(highest))
	}
	return within(in.Value/calm, edge(in, -1)/highC, edge(in, 1)/lowC, unitRatio, in.N+n,
		fmt.Sprintf("deviation inside over the median of %d bands outside, rounding and what uneven times add taken off both", len(others)))
}
