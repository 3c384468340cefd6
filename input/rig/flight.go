package rig

import (
	"math"
	"math/rand/v2"
	"sort"

	"halfstick/input"
)

// waves is a band-limited random signal: sines of equal size and random phase
// whose frequencies are spread evenly over the logarithm of a band. By the
// central limit theorem its density is nearly normal; its RMS over long times
// is exactly the one asked for (Rice's representation of random noise).
type waves struct {
	size         float64
	omega, phase []float64
}

func newWaves(rng *rand.Rand, n int, fromHz, toHz, rms float64) waves {
	w := waves{size: rms * math.Sqrt(2/float64(n))}
	for i := range n {
		share := (float64(i) + rng.Float64()) / float64(n)
		w.omega = append(w.omega, 2*math.Pi*fromHz*math.Pow(toHz/fromHz, share))
		w.phase = append(w.phase, 2*math.Pi*rng.Float64())
	}
	return w
}

func (w waves) at(t float64) float64 {
	sum := 0.0
	for i, omega := range w.omega {
		sum += math.Sin(omega*t + w.phase[i])
	}
	return w.size * sum
}

// Demand in flight. The standard deviation is that of a half-normal |y| with
// 95 % inside half of full command, 0.5/1.96, less what the large inputs add.
const (
	flightSigma    = 0.24
	flightFromHz   = 0.04
	flightToHz     = 0.7
	largeEvery     = 50.0 // seconds, on the mean
	largeSeconds   = 1.6
	largeLow       = 0.6
	largeHigh      = 1.0
	rollOutSeconds = 15.0
)

// bump is a single large input: half a sine squared.
type bump struct{ start, seconds, height float64 }

func (b bump) at(t float64) float64 {
	share := (t - b.start) / b.seconds
	if share <= 0 || share >= 1 {
		return 0
	}
	s := math.Sin(math.Pi * share)
	return b.height * s * s
}

// flight is a step in which all axes are flown straight-through: the command
// wanted is the position the hand goes to.
func (r *Rig) flight(seconds float64) Step {
	s := Step{Phase: input.Phase{Kind: input.Flight}, Length: duration(seconds)}
	for i, a := range r.axes {
		rng := rand.New(rand.NewPCG(r.seed, flightStream+uint64(i)))
		switch {
		case a.spec.Kind == input.TwoSided:
			s.Hands = append(s.Hands, flyTwoSided(rng, seconds))
		case a.spec.Spring == (Spring{}):
			s.Hands = append(s.Hands, flyLever(rng))
		default:
			s.Hands = append(s.Hands, flyBrake(rng, seconds))
		}
	}
	return s
}

func flyTwoSided(rng *rand.Rand, seconds float64) Hand {
	demand := newWaves(rng, 24, flightFromHz, flightToHz, flightSigma)
	var large []bump
	for t := rng.Float64() * largeEvery; t < seconds; t += largeEvery * (0.5 + rng.Float64()) {
		height := largeLow + (largeHigh-largeLow)*rng.Float64()
		if rng.IntN(2) == 0 {
			height = -height
		}
		large = append(large, bump{t, largeSeconds, height})
	}
	return func(t float64) (float64, bool) {
		// Everything starts and ends at the centre.
		edge := math.Min(1, math.Min(t, seconds-t))
		y := demand.at(t) * edge
		// They never overlap, so the one that began last is the one under way.
		if i := sort.Search(len(large), func(i int) bool { return large[i].start > t }); i > 0 {
			y += large[i-1].at(t)
		}
		return math.Min(math.Max(y, -1), 1), true
	}
}

// flyLever sets a lever slowly about, mostly in the upper half of its throw.
func flyLever(rng *rand.Rand) Hand {
	w := newWaves(rng, 8, 0.01, 0.06, 0.15)
	return func(t float64) (float64, bool) {
		set := 0.6 + w.at(t)
		return math.Min(math.Max(set, 0), 1) * math.Min(1, t/5), true
	}
}

// flyBrake leaves a brake alone but for the roll-out at the end.
func flyBrake(rng *rand.Rand, seconds float64) Hand {
	start := math.Max(0, seconds-rollOutSeconds)
	b := bump{start, seconds - start, 0.5 + 0.3*rng.Float64()}
	return func(t float64) (float64, bool) {
		y := b.at(t)
		return y, y > 0
	}
}
