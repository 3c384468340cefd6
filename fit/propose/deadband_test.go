package propose

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"halfstick/curves"
	"halfstick/fit/measure"
)

func sidesOf(t *testing.T, a measure.Axis, perMinute float64) DeadbandReasons {
	t.Helper()
	r, missing := calibrated(&a)
	if missing != "" {
		t.Fatal(missing)
	}
	return deadbands(&a, r, perMinute)
}

// h for one exit a minute at 125 reports a second from the table; the rest of
// the half-width by hand.
func TestDeadbandIsRestPlusExcursion(t *testing.T) {
	var rows []map[string]float64
	reference(t, "crossing.json", "cross.inverse", &rows)
	checked := 0
	for _, row := range rows {
		if row["fs"] != 125 {
			continue
		}
		checked++
		a := measuredAxis("pitch")
		a.Rest.Correlation = quantity(row["rho"], 0, 1)
		d := sidesOf(t, a, row["exits_per_min"])
		near(t, "h", d.High.ExcursionSigma, row["h_sigma"], 1e-9)
		near(t, "excursion", d.High.Excursion, (row["h_sigma"]*30+4.0/2)/30000, 1e-9)
		// t(0.975; 8 degrees of freedom) = 2.3060041 (tables): five releases a side
		resting := (100 + 2.3060041*math.Sqrt(1.2)*20) / 30000
		near(t, "resting, high side", d.High.Resting, resting, 1e-6)
		near(t, "resting, low side", d.Low.Resting, resting, 1e-6)
		within(t, "half-width", d.High.HalfWidth-d.High.Resting-d.High.Excursion, -1e-12, 1e-4)
	}
	if checked != 9 {
		t.Errorf("%d rows at 125 reports a second, want 9", checked)
	}
}

func TestDeadbandOfAWeakSideIsWiderThere(t *testing.T) {
	a := measuredAxis("rudder")
	a.Return.FromHigh = returnSide(1300, 100)
	d := sidesOf(t, a, 0.1)
	good := sidesOf(t, measuredAxis("rudder"), 0.1)
	// The spreads differ by more than F(0.975; 4, 4) = 9.6045 allows, so that each
	// is by itself: t(0.975; 4) = 2.7764451 (tables).
	near(t, "resting, high side", d.High.Resting, (1200+2.7764451*math.Sqrt(1.2)*100)/30000, 1e-6)
	near(t, "resting, low side", d.Low.Resting, (100+2.7764451*math.Sqrt(1.2)*20)/30000, 1e-6)
	if d.Low.HalfWidth > 1.1*good.Low.HalfWidth {
		t.Errorf("the sound side got %g, without the weak one %g", d.Low.HalfWidth, good.Low.HalfWidth)
	}
	// Spreads of 20 and 60 may be one: √((20² + 60²)/2) = 44.72.
	a.Return.FromHigh = returnSide(200, 60)
	d = sidesOf(t, a, 0.1)
	near(t, "taken together", d.High.Resting, (100+2.3060041*math.Sqrt(1.2)*44.72136)/30000, 1e-6)
}

func TestOneReleaseHasNoScatter(t *testing.T) {
	a := measuredAxis("pitch")
	a.Return.FromLow, a.Return.FromHigh = nil, &measure.ReturnSide{Mean: quantity(400, 0, 1)}
	near(t, "resting", sidesOf(t, a, 0.1).High.Resting, 300/30000.0, 1e-9)
}

// A drift counts as far as its interval allows within an hour, on the side that
// it may go to.
func TestDriftCountsAsFarAsItMayGo(t *testing.T) {
	base := sidesOf(t, measuredAxis("pitch"), 0.1)
	for _, c := range []struct {
		drift, half float64 // counts a minute
		low, high   float64 // counts in an hour
		says        string
	}{
		{-5, 2, 7 * 60, 0, "drift 1.40 %"},
		{-1, 3, 4 * 60, 2 * 60, "drift 0.80 %, which so short a recording cannot rule out"},
		{0, 200, mostDrift * 30000, mostDrift * 30000, "rest longer"},
		{-50, 2, mostDrift * 30000, 0, "of the 10 % that an hour would bring"},
		{50, 2, 0, mostDrift * 30000, ""},
	} {
		a := measuredAxis("pitch")
		a.Rest.DriftPerMinute = quantity(c.drift, c.half, 24)
		d := sidesOf(t, a, 0.1)
		near(t, "low side", d.Low.Resting-base.Low.Resting, c.low/30000, 1e-9)
		near(t, "high side", d.High.Resting-base.High.Resting, c.high/30000, 1e-9)
		if !strings.Contains(d.Low.Says, c.says) {
			t.Errorf("drift %g: says %q, want %q", c.drift, d.Low.Says, c.says)
		}
	}
}

// Noise too small for the step may turn a reading into the next.
func TestExcursionIsAStepAtLeast(t *testing.T) {
	a := measuredAxis("pitch")
	a.Step, a.Rest.Sigma = quantity(64, 0, 1), quantity(1, 1, 100)
	near(t, "excursion", sidesOf(t, a, 0.1).High.Excursion, 64/30000.0, 1e-9)
}

// Without an interval the report rate is a lower bound, and the fastest counts.
func TestUnsureReportRateCountsAsTheFastest(t *testing.T) {
	a, fast := measuredAxis("pitch"), measuredAxis("pitch")
	a.Timing.ReportHz = &measure.Quantity{Value: 250}
	fast.Timing.ReportHz = quantity(1000, 1, 10)
	near(t, "h", sidesOf(t, a, 0.1).High.ExcursionSigma, sidesOf(t, fast, 0.1).High.ExcursionSigma, 1e-12)
}

func TestTooWideADeadbandAsksForRepair(t *testing.T) {
	a := measuredAxis("rudder")
	a.Return.FromHigh = returnSide(5000, 100)
	d := sidesOf(t, a, 0.1)
	if d.High.HalfWidth < 0.16 || !strings.Contains(d.High.Says, "repair") {
		t.Errorf("half-width %g says %q", d.High.HalfWidth, d.High.Says)
	}
	if d.High.FallsShort || strings.Contains(d.High.Says, "more false motions") {
		t.Errorf("half-width %g says %q", d.High.HalfWidth, d.High.Says)
	}
	b := measuredAxis("rudder")
	b.Rest.Sigma = quantity(4000, 10, 100)
	if over := sidesOf(t, b, 0.1); !over.High.FallsShort || over.High.HalfWidth != widest || !strings.Contains(over.High.Says, "held at 50 %, so that there will be more false motions") {
		t.Errorf("half-width %g says %q", over.High.HalfWidth, over.High.Says)
	}
	if strings.Contains(d.Low.Says, "repair") {
		t.Errorf("low side says %q", d.Low.Says)
	}
}

func TestOneSidedDeadbandIsAtTheIdleStop(t *testing.T) {
	d := sidesOf(t, leverAxis("lever"), 0.1)
	two := sidesOf(t, measuredAxis("pitch"), 0.2)
	// One way out instead of two: the band of twice the rate.
	near(t, "h", d.Low.ExcursionSigma, two.Low.ExcursionSigma, 1e-12)
	near(t, "excursion", d.Low.Excursion, (two.Low.ExcursionSigma*30+2)/64000, 1e-9)
	if d.High.HalfWidth != 0 {
		t.Errorf("got %+v", d)
	}
	// Its zero is the idle stop, which is known to 5 counts.
	near(t, "resting", d.Low.Resting, 5/64000.0, 1e-9)
	near(t, "two-sided", two.Low.Resting-sidesOf(t, measuredAxis("pitch"), 0.1).Low.Resting, 0, 1e-12)
}

// The promise, kept: independent of the formula, an hour of noise of the
// measured kind about the worst resting place leaves the deadband about as
// often as accepted, and about a centred rest no more often.
func TestDeadbandKeepsItsPromise(t *testing.T) {
	const perMinute, hours = 2.0, 6
	for _, rho := range []float64{0, 0.8} {
		a := measuredAxis("pitch")
		a.Step, a.Return = quantity(0.01, 0, 1), measure.Return{}
		a.Rest.Correlation = quantity(rho, 0, 1)
		r, _ := calibrated(&a)
		d := deadbands(&a, r, perMinute)
		r.Deadband = curves.Sides{Low: d.Low.HalfWidth, High: d.High.HalfWidth}
		rng := rand.New(rand.NewPCG(11, 12))
		x, out, motions := 30*rng.NormFloat64(), false, 0
		for range hours * 3600 * 125 {
			x = rho*x + math.Sqrt(1-rho*rho)*30*rng.NormFloat64()
			now := r.FromCounts(100+x) != 0
			if now && !out {
				motions++
			}
			out = now
		}
		// 720 promised; rounding the half-width up makes it a few per cent fewer.
		within(t, "false motions a minute", float64(motions)/(60*hours), 0.8*perMinute, 1.1*perMinute)
	}
}

func TestSpikesWidenTheDeadband(t *testing.T) {
	quiet := measuredAxis("rudder")
	restOf(&quiet, 60, 30, 0)
	spiky := measuredAxis("rudder")
	restOf(&spiky, 60, 30, 900, 500, 1500, 2500, 3500, 4500, 5500, 6500)
	base, d := sidesOf(t, quiet, 0.1), sidesOf(t, spiky, 0.1)
	near(t, "quiet", base.High.Excursion, (base.High.ExcursionSigma*30+2)/30000, 1e-9)
	// Seven peaks of 900 to 1,008 counts: the highest and a seventh more.
	within(t, "spiky", d.High.Excursion*30000, 1000*8/7.0, 1100*8/7.0)
	if !strings.Contains(d.High.Says, "highest of 7 peaks") {
		t.Errorf("says %q", d.High.Says)
	}
	// Noise of 30 counts does not reach 900: one spike is enough, and the next may be
	// twice as high.
	one := measuredAxis("rudder")
	restOf(&one, 60, 30, 900, 500)
	within(t, "one spike", sidesOf(t, one, 0.1).High.Excursion*30000, 2*800, 2*1000)
	// A peak that noise may reach: in a minute chance alone brings one to one in ten
	// recordings, in ten seconds to one in sixty.
	restOf(&one, 60, 0, 170, 500)
	d = sidesOf(t, one, 0.1)
	near(t, "one peak", d.High.Excursion, base.High.Excursion, 1e-12)
	if !strings.Contains(d.High.Says, "no oftener than chance") {
		t.Errorf("one peak: says %q", d.High.Says)
	}
	restOf(&one, 10, 0, 170, 500)
	within(t, "one peak in ten seconds", sidesOf(t, one, 0.1).High.Excursion*30000, 2*169, 2*171)
	// Readings a step apart are rounding, not spikes.
	coarse := measuredAxis("rudder")
	coarse.Step, coarse.Rest.Sigma = quantity(200, 0, 1), quantity(5, 1, 100)
	restOf(&coarse, 60, 0, 200, 500, 1500, 2500, 3500, 4500, 5500, 6500)
	near(t, "coarse", sidesOf(t, coarse, 0.1).High.Excursion, 200/30000.0, 1e-9)
}

// Spikes in the settled ends of releases count as those at rest do, with their time.
func TestSpikesAfterReleasesCount(t *testing.T) {
	a := measuredAxis("rudder")
	restOf(&a, 10, 30, 0)
	base := sidesOf(t, a, 0.1)
	a.Plots.SettledSpikes, a.Plots.SettledSeconds = []float64{900, 600, 700}, 20
	d := sidesOf(t, a, 0.1)
	near(t, "excursion", d.Low.Excursion, 900*(1+1/3.0)/30000, 1e-9)
	if d.Low.Excursion <= base.Low.Excursion || !strings.Contains(d.Low.Says, "highest of 3 peaks") || !strings.Contains(d.Low.Says, "6.00 times a minute") {
		t.Errorf("says %q", d.Low.Says)
	}
	// Together with those at rest.
	restOf(&a, 10, 30, 1000, 500)
	within(t, "both", sidesOf(t, a, 0.1).Low.Excursion*30000, 1.25*900, 1.25*1100)
	// The noise beside them is judged as without: 170 counts twice in ten seconds.
	restOf(&a, 10, 0, 170, 300, 700)
	near(t, "noise beside", sidesOf(t, a, 0.1).Low.Excursion, 900*(1+1/3.0)/30000, 1e-9)
}

// Where a deadband for the spikes is wider than one can live with, 12 % of 30,000
// counts, on one side or both, it is for the noise alone and says so.
func TestSpikesBeyondADeadbandAreToMend(t *testing.T) {
	quiet := sidesOf(t, measuredAxis("rudder"), 0.1)
	for _, c := range []struct {
		spike float64 // of which the double is reckoned with
		short bool
	}{{1700, false}, {1800, true}} {
		a := measuredAxis("rudder")
		a.Plots.SettledSpikes, a.Plots.SettledSeconds = []float64{c.spike}, 20
		d := sidesOf(t, a, 0.1)
		for name, s := range map[string]DeadbandSide{"low": d.Low, "high": d.High} {
			want := 2 * c.spike / 30000
			if c.short {
				want = quiet.Low.Excursion
			}
			near(t, name, s.Excursion, want, 1e-9)
			if s.FallsShort != c.short {
				t.Errorf("spike of %g, %s side: falls short %v", c.spike, name, s.FallsShort)
			}
		}
		if strings.Contains(d.Spikes, "not held back") != c.short {
			t.Errorf("spike of %g: says %q", c.spike, d.Spikes)
		}
	}
	// One side decides for both, whichever it is.
	for _, weak := range []float64{-1100, 1300} {
		a := measuredAxis("rudder")
		if weak > 0 {
			a.Return.FromHigh = returnSide(weak, 100)
		} else {
			a.Return.FromLow = returnSide(weak, 100)
		}
		a.Plots.SettledSpikes, a.Plots.SettledSeconds = []float64{1500}, 20
		if d := sidesOf(t, a, 0.1); !d.Low.FallsShort || !d.High.FallsShort || d.Low.Excursion > 0.01 {
			t.Errorf("returns to %g: low side says %q", weak, d.Low.Says)
		}
	}
}

// Of spikes that were not seen the proposal says how many there may be: none in a
// minute leaves 3 a minute (−ln 0.05 = 2.9957), and 0.1 a minute needs half an hour.
func TestUnseenSpikesAreSaid(t *testing.T) {
	a := measuredAxis("rudder")
	high := 2.995732
	a.Rest.SpikesPerMinute = &measure.Quantity{Low: new(float64), High: &high}
	d := sidesOf(t, a, 0.1)
	if !strings.Contains(d.Spikes, "in the 60 s") || !strings.Contains(d.Spikes, "as many as 3.00 a minute") || !strings.Contains(d.Spikes, "rest 29 minutes more") {
		t.Errorf("says %q", d.Spikes)
	}
	if d = sidesOf(t, a, 3); d.Spikes != "" {
		t.Errorf("as many are accepted, yet %q", d.Spikes)
	}
	a.Rest.SpikesPerMinute.Value = 1
	if d = sidesOf(t, a, 0.1); d.Spikes != "" {
		t.Errorf("one was seen, yet %q", d.Spikes)
	}
}

// The noise where releases end counts where it is surely more than that at rest.
func TestNoiseWhereReleasesEnd(t *testing.T) {
	a := measuredAxis("rudder")
	base := sidesOf(t, a, 0.1)
	for _, c := range []struct{ sigma, half, want float64 }{{90, 10, 90}, {31.5, 1, 30}, {20, 1, 30}} {
		a.Return.Sigma = quantity(c.sigma, c.half, 100)
		d := sidesOf(t, a, 0.1)
		near(t, "excursion", d.High.Excursion, (base.High.ExcursionSigma*c.want+2)/30000, 1e-9)
	}
}

// Of the two drifts the one that is better known counts.
func TestTheBetterKnownDriftCounts(t *testing.T) {
	base := sidesOf(t, measuredAxis("pitch"), 0.1)
	a := measuredAxis("pitch")
	a.Rest.DriftPerMinute, a.Rest.DriftOverallPerMinute = quantity(0, 200, 24), quantity(3, 2, 3)
	d := sidesOf(t, a, 0.1)
	near(t, "low side", d.Low.Resting, base.Low.Resting, 1e-12)
	near(t, "high side", d.High.Resting-base.High.Resting, 5*60/30000.0, 1e-9)
	a.Rest.DriftPerMinute, a.Rest.DriftOverallPerMinute = quantity(3, 2, 24), quantity(0, 200, 3)
	near(t, "at rest", sidesOf(t, a, 0.1).High.Resting, d.High.Resting, 1e-12)
	a.Rest.DriftOverallPerMinute = &measure.Quantity{Value: 7}
	near(t, "without an interval", sidesOf(t, a, 0.1).High.Resting, d.High.Resting, 1e-12)
}

// With peaks enough the tail is fitted: exponential peaks of mean 200 counts
// beyond the Gaussian band, twenty a minute, pass a level once in ten minutes
// that lies 200·ln(200) beyond it.
func TestManyPeaksGetATail(t *testing.T) {
	const beyond = 150.0
	rng := rand.New(rand.NewPCG(5, 6))
	p := peaks{beyond: beyond, minutes: 20}
	for range 400 {
		p.heights = append(p.heights, beyond+200*rng.ExpFloat64())
	}
	e := excursion{counts: beyond}
	e.widenForTail(p, 0.1, true)
	want := beyond + 200*math.Log(20/0.1)
	within(t, "level", e.counts, 0.7*want, 1.4*want)
	if !strings.Contains(e.tail, "generalised Pareto") || !strings.Contains(e.tail, "95 % interval") {
		t.Errorf("says %q", e.tail)
	}
}

func TestEndMarginCoversNoiseAndStop(t *testing.T) {
	a := measuredAxis("pitch")
	near(t, "quiet", endMargin(&a, a.Travel.High, 30000), math.Ceil((0.005+5/30000.0)*1e4)/1e4, 1e-9)
	a.Rest.Sigma = quantity(300, 1, 1)
	near(t, "noisy", endMargin(&a, a.Travel.High, 30000), math.Ceil((0.03+5/30000.0)*1e4)/1e4, 1e-9)
}
