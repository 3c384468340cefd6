package propose

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/input"
)

// slowFlight are rows of Gaussian commands of deviation sigma that take tau
// seconds to forget, four a second.
func slowFlight(rng *rand.Rand, minutes, sigma, tau float64) *tally {
	var f tally
	rho := math.Exp(-0.25 / tau)
	y := sigma * rng.NormFloat64()
	for range int(minutes * 240) {
		f.add(min(max(y, -1), 1), 0.25)
		y = rho*y + math.Sqrt(1-rho*rho)*sigma*rng.NormFloat64()
	}
	return &f
}

func intervalOf(flight *tally, fallback Demand) (Demand, Fit) {
	d := flight.demand(fallback)
	f := newFitter(&d, newReach(usual()))
	fits := []Fit{f.blend()}
	addIntervals(fits, f, flight.seconds, fallback)
	return d, fits[0]
}

// The shares of the cells are what meanSquareSlope integrates.
func TestSharesAddUpToTheMeanSquareSlope(t *testing.T) {
	flight := slowFlight(rand.New(rand.NewPCG(1, 1)), 12, 0.2, 5)
	fallback := DefaultDemand(0.5)
	d := flight.demand(fallback)
	f := newFitter(&d, newReach(usual()))
	for _, c := range []struct {
		shape func(float64) curves.Shape
		at    float64
	}{{powerOf, 1.3}, {blendOf, 0.45}} {
		s := newShares(f, []float64{c.at}, c.shape, bandwidth(flight.weight[:], flight.total), fallback.P)
		sum := s.fallback[0]
		for i, w := range flight.weight {
			sum += w / flight.total * s.cell[i/finePerCell][0]
		}
		near(t, "J", sum, f.square(c.shape(c.at)), 1e-3)
	}
}

// The 95 % interval holds the parameter that endless flight of the same kind
// and weight would give, nearly as often as it says; blocks shorter than the
// commands' memory would not.
func TestIntervalHoldsTheParameterOfEndlessFlight(t *testing.T) {
	const sigma, tau, minutes, flights = 0.22, 6.0, 18.0, 24
	rng := rand.New(rand.NewPCG(21, 4))
	fallback := DefaultDemand(0.5)
	flown := NewDemand(func(y float64) float64 { return math.Exp(-y * y / (2 * sigma * sigma)) })
	endless := fallback.mix(flown.P, minutes/(minutes+halfWeightMinutes))
	truth := newFitter(&endless, newReach(usual())).blend().Parameter
	held, width := 0, 0.0
	for range flights {
		_, fit := intervalOf(slowFlight(rng, minutes, sigma, tau), fallback)
		if fit.Interval == nil {
			t.Fatal("no interval")
		}
		if fit.Interval.Low <= truth && truth <= fit.Interval.High {
			held++
		}
		width += (fit.Interval.High - fit.Interval.Low) / flights
	}
	within(t, "share of intervals that hold", float64(held)/flights, 0.85, 1)
	within(t, "mean width", width, 0.01, 0.3)
}

// Of a first-order process with correlation r the sum over the correlation is
// (1+r)/(1−r), and blocks keep that of r·(1−1/b): the widening is the root of
// their ratio, for a flight so long that t is the Gaussian's.
func TestWideningOfAFirstOrderProcess(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for _, tau := range []float64{0.01, 6, 15} {
		r := math.Exp(-1 / tau)
		x := make([]float64, 60_000)
		now := rng.NormFloat64()
		for i := range x {
			x[i] = now
			now = r*now + math.Sqrt(1-r*r)*rng.NormFloat64()
		}
		whole := func(r float64) float64 { return (1 + r) / (1 - r) }
		near(t, "widening", widening(x), math.Sqrt(whole(r)/whole(r*(1-1/blockSeconds))), 0.02)
	}
	// Twenty blocks of independent seconds: t(0.975; 19) = 2.0930 (tables).
	x := make([]float64, 20*int(blockSeconds))
	for i := range x {
		x[i] = math.Pow(-1, float64(i))
	}
	near(t, "few blocks", widening(x), 2.0930/1.95996/math.Sqrt(1-59/600.0), 1e-4)
}

// The interval reaches farther from the flown parameter than the resampled ones
// do, by the widening, towards both ends.
func TestIntervalIsWidened(t *testing.T) {
	flight := slowFlight(rand.New(rand.NewPCG(6, 6)), 30, 0.2, 12)
	fallback := DefaultDemand(0.5)
	d := flight.demand(fallback)
	f := newFitter(&d, newReach(usual()))
	grid := floats.Span(make([]float64, parameters), 0, f.largestShare())
	s := newShares(f, grid, blendOf, leastBandwidth, fallback.P)
	seconds := flight.seconds
	drawn := drawBlocks(len(seconds))
	upTo := newRunning(len(seconds), len(grid))
	s.run(upTo, seconds)
	low, high := s.interval(upTo, drawn, grid)
	best := s.resample(upTo, drawn, grid)
	slices.Sort(best)
	lowest, highest := best[len(best)/40], best[len(best)-1-len(best)/40] // 2.5 % beyond each
	// Squares of commands with a memory of 12 s have one of 6 s. With blocks of
	// 30 s (1+r)/(1−r) for r = exp(−1/6) and for r·(1−1/30) are 12.0 and 10.0,
	// of which the mean of 1800 s takes 59/1800 of 12; t(0.975; 59) = 2.001.
	want := math.Sqrt(12.0/(10.0-12*59/1800.0)) * 2.001 / 1.960
	within(t, "width against the resampled", (high-low)/(highest-lowest), 0.95*want, 1.05*want)
	if low >= lowest || high <= highest {
		t.Errorf("%g to %g is not wider than %g to %g", low, high, lowest, highest)
	}
}

// Blocks fill the flight, and a resample's J is the sum of the shares of its
// seconds, which go on from the last at the first.
func TestResampleIsTheSumOfItsSeconds(t *testing.T) {
	const n = 600
	grid := []float64{0, 1, 2}
	rng := rand.New(rand.NewPCG(9, 9))
	s := shares{fallback: []float64{1, 0, 1}}
	share, upTo := make([][]float64, n), newRunning(n, len(grid))
	for i := range share {
		share[i] = []float64{rng.Float64(), 0, rng.Float64()}
		floats.AddTo(upTo[i+1], upTo[i], share[i])
	}
	drawn := drawBlocks(n)
	best := s.resample(upTo, drawn, grid)
	lasts, count, beyond := 0, 0, 0
	for b, blocks := range drawn {
		want := slices.Clone(s.fallback)
		seconds := 0
		for _, k := range blocks {
			for i := k.from; i < k.to; i++ {
				floats.AddScaled(want, 1.0/n, share[i%n])
			}
			seconds += int(k.to - k.from)
			if k.to > n {
				beyond++
			}
		}
		if seconds != n {
			t.Fatalf("resample %d has %d seconds, want %d", b, seconds, n)
		}
		near(t, "best of a resample", best[b], leastOnGrid(grid, want), 1e-9)
		lasts += seconds
		count += len(blocks)
	}
	within(t, "mean length of a block", float64(lasts)/float64(count), 0.9*blockSeconds, 1.1*blockSeconds)
	if beyond < resamples/2 {
		t.Errorf("%d blocks go on at the start", beyond)
	}
}

// A parameter at the end of its range keeps its interval inside.
func TestIntervalStaysWithinTheFamily(t *testing.T) {
	_, fit := intervalOf(slowFlight(rand.New(rand.NewPCG(4, 4)), 40, 0.02, 5), DefaultDemand(0.1))
	if top := 1 - usual().smallest; fit.Interval.High > top || fit.Interval.Low > fit.Parameter+1e-6 {
		t.Errorf("parameter %g, interval %+v", fit.Parameter, *fit.Interval)
	}
}

func TestLittleFlightGivesNoInterval(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	if _, fit := intervalOf(slowFlight(rng, 4.9, 0.2, 5), DefaultDemand(0.5)); fit.Interval != nil {
		t.Errorf("interval %+v", *fit.Interval)
	}
	if _, fit := intervalOf(slowFlight(rng, 5.1, 0.2, 5), DefaultDemand(0.5)); fit.Interval == nil {
		t.Error("no interval")
	}
}

// A second that spans rows of different lengths is whole, each cell has all of its
// share, and nothing is lost.
func TestSecondsOfFlight(t *testing.T) {
	var f tally
	f.add(0.1, 0.7)
	f.add(0.5, 0.25)
	f.add(-0.5, 0.7)
	f.add(0.3, 0.1)
	f.add(0.5, 0.1)
	f.add(0.3, 0.3)
	seconds := f.seconds
	if len(seconds) != 2 {
		t.Fatalf("%d seconds", len(seconds))
	}
	for i, want := range []flownSecond{{{20, 0.7}, {100, 0.3}}, {{60, 0.25}, {100, 0.75}}} {
		if len(seconds[i]) != len(want) {
			t.Fatalf("second %d is %v", i, seconds[i])
		}
		for k := range want {
			near(t, "share", seconds[i][k].share, want[k].share, 1e-12)
			if seconds[i][k].cell != want[k].cell {
				t.Errorf("second %d is %v", i, seconds[i])
			}
		}
	}
}

func TestLeastOnGridIsTheVertex(t *testing.T) {
	x := floats.Span(make([]float64, 11), 0, 1)
	y := make([]float64, len(x))
	for i := range x {
		y[i] = 3 * (x[i] - 0.437) * (x[i] - 0.437)
	}
	near(t, "vertex", leastOnGrid(x, y), 0.437, 1e-12)
}

func TestIntervalIsSaid(t *testing.T) {
	r := newRecorded(20, input.TwoSided, "pitch")
	r.add(input.Flight, 1080, gaussianFlight(0.2))
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(measuredAxis("pitch"))}, Defaults())
	if err != nil {
		t.Fatal(err)
	}
	a := p.Axes[0]
	fit, reasons := a.chosen(), strings.Join(a.Reasons, "\n")
	if fit.Interval == nil || fit.Parameter < fit.Interval.Low || fit.Parameter > fit.Interval.High {
		t.Fatalf("parameter %g, interval %+v", fit.Parameter, fit.Interval)
	}
	for _, want := range []string{" from 18 minutes of flight: ", "(95 %, from 400 flights resampled in blocks of 30 s on the mean)"} {
		if !strings.Contains(reasons, want) {
			t.Errorf("%q is not said:\n%s", want, reasons)
		}
	}
}

func BenchmarkIntervals(b *testing.B) {
	flight := slowFlight(rand.New(rand.NewPCG(1, 1)), 18, 0.2, 5)
	fallback := DefaultDemand(0.5)
	d := flight.demand(fallback)
	f := newFitter(&d, newReach(usual()))
	fits := []Fit{f.power(), f.blend()}
	for b.Loop() {
		addIntervals(fits, f, flight.seconds, fallback)
	}
}
