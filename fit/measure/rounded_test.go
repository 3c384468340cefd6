package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"halfstick/input"
)

// stillRest is a rest of n reports at a place, in steps, without drift.
func stillRest(rng *rand.Rand, n int, at, sigma float64) []restPart {
	p := restPart{low: -1e6, high: 1e6}
	for i := range n {
		p.t = append(p.t, float64(i)*0.008)
		p.x = append(p.x, 16*math.Round(at+sigma*rng.NormFloat64()))
		p.keep = append(p.keep, true)
	}
	return []restPart{p}
}

// σ and its interval, at, between and on the edge of codes.
func TestRoundedLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const n, of = 800, 30
	for _, c := range []struct{ at, sigma float64 }{{0.1, 0.3}, {-4.5, 0.4}, {9, 1.5}} {
		sum, held := 0.0, 0
		for range of {
			r := newRoundedLine(stillRest(rng, n, c.at, c.sigma), lattice{step: 16}, 0).fit(0, n, n)
			sum += r.sigma / of
			if r.low <= c.sigma && c.sigma <= r.high {
				held++
			}
		}
		if math.Abs(sum/c.sigma-1) > 0.03 || held < 25 { // 28.5 expected, less three standard errors
			t.Errorf("%+v: mean %v, %d of %d intervals hold", c, sum, held, of)
		}
	}
}

// One or two codes bound σ from above only: n·ln(1−2Φ(−½/σ)) = −χ²/2 in the
// middle of one, with χ² = 3.841459, and 1/σ for ½/σ where half of the reports
// have either of two.
func TestRoundedLineFewCodes(t *testing.T) {
	const n = 1000
	parts := stillRest(rand.New(rand.NewPCG(1, 1)), n, 4, 0)
	bound := func() float64 {
		r := newRoundedLine(parts, lattice{step: 16}, 0).fit(0, n, n)
		if r.low != 0 {
			t.Errorf("%+v excludes 0", r)
		}
		return r.high
	}
	outside := func(z float64) float64 { return n * math.Log(1-math.Erfc(z/math.Sqrt2)) }
	one := bound()
	if got := outside(0.5 / one); math.Abs(got+3.841459/2) > 0.03 {
		t.Errorf("one code: %v at σ %v", got, one)
	}
	for i := range n {
		parts[0].x[i] = 16 * float64(i%2)
	}
	two := bound()
	if got := outside(1 / two); math.Abs(got+3.841459/2) > 0.03 {
		t.Errorf("two codes: %v at σ %v", got, two)
	}
}

// A sensor that drifts over several codes a second is as quiet as one that
// stands: what it moves by within a block of time must not pass for noise.
func TestRoundedLineOfAFastDrift(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const sigma, slope, n = 0.05, 3.0, 12000 // steps, steps a second, reports
	p := restPart{low: -1e6, high: 1e6}
	for i := range n {
		at := float64(i) * 0.01
		p.t = append(p.t, at)
		p.x = append(p.x, 16*math.Round(slope*at+sigma*rng.NormFloat64()))
		p.keep = append(p.keep, true)
	}
	r := newRoundedLine([]restPart{p}, lattice{step: 16}, slope).fit(slope, n, n)
	if math.Abs(r.sigma/sigma-1) > 0.06 || r.low > sigma || r.high < sigma {
		t.Errorf("%+v, want %v", r, sigma)
	}
}

// Parts of a rest that stand between two codes' edges tell nothing of their
// level, and must not keep the slope that the others show from its interval.
func TestRoundedLineWithPartsThatTellNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const sigma, slope, n = 0.04, 0.06, 12000 // steps, steps a second, reports
	parts := append(driftingRest(rng, n, slope, sigma), stillRest(rng, 120, 0, 0)...)
	r := newRoundedLine(parts, lattice{step: 16}, slope).fit(slope, n, n)
	if !(r.slopeLow < slope && slope < r.slopeHigh) || r.slopeHigh-r.slopeLow > 0.5*slope {
		t.Errorf("%+v, want slope %v", r, slope)
	}
}

// The slope of a mean that passes two codes' edges is held by the interval from
// the information, although the noise is far below a step.
func TestRoundedSlopeOverTwoSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	const sigma, slope, n, of = 0.15, 0.25, 1000, 25
	held, width := 0, 0.0
	for range of {
		r := newRoundedLine(driftingRest(rng, n, slope, sigma), lattice{step: 16}, slope).fit(slope, n, n)
		if r.slopeLow <= slope && slope <= r.slopeHigh {
			held++
		}
		width += (r.slopeHigh - r.slopeLow) / of
	}
	if held < 21 || width > 0.2*slope { // 24 expected, less three standard errors
		t.Errorf("%d of %d intervals hold, mean width %v", held, of, width)
	}
}

// driftingRest is a rest that begins anywhere between two codes and drifts.
func driftingRest(rng *rand.Rand, n int, slope, sigma float64) []restPart {
	p := restPart{low: -1e6, high: 1e6}
	start := rng.Float64()
	for i := range n {
		at := float64(i) * 0.008
		p.t = append(p.t, at)
		p.x = append(p.x, 16*math.Round(start+slope*at+sigma*rng.NormFloat64()))
		p.keep = append(p.keep, true)
	}
	return []restPart{p}
}

// A mean that passes only a part of a step shows one or two codes, and they tell
// little of the noise: the drift's interval must allow for all that it may be.
// One that passes several steps is known by when it came to each.
func TestQuietDriftIsKnownByTheCodesItPasses(t *testing.T) {
	const seconds, of = 10.0, 20
	for _, c := range []struct{ passed, least, most float64 }{{3, 0.05, 0.3}, {1.2, 1, 5}, {0.5, 2, 10}} {
		held, width := 0, 0.0
		for i := range of {
			d := usual()
			d.sigma, d.seed = 0.15, uint64(i+1)
			start, slope := 2000+float64(i)/of, c.passed/seconds
			drifting := part{phase: input.Phase{Kind: input.Rest}, seconds: seconds,
				at: func(t float64) float64 { return start + slope*t }}
			a := d.measure(t, pause(0.5, start), sweeping(120, 3980, 4, 2), pause(0.5, start), drifting)
			q, perMinute := a.Rest.DriftPerMinute, slope*60*a.Step.Value
			if has(q, perMinute) {
				held++
			}
			width += (*q.High - *q.Low) / perMinute / of
		}
		if held < 17 || width < c.least || width > c.most { // 19 expected, less two standard errors
			t.Errorf("%v steps passed: %d of %d intervals hold, mean width %.2f of the slope", c.passed, held, of, width)
		}
	}
}
