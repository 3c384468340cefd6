package propose

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/input"
)

// effectFixture is an axis with a noisy rest and a noisy flight, and what is
// proposed for it.
func effectFixture(t testing.TB, change func(*measure.Axis), opts Options) (*AxisProposal, *input.Recording) {
	t.Helper()
	rng := rand.New(rand.NewPCG(3, 4))
	r := newRecorded(125, input.TwoSided, "pitch")
	r.add(input.Rest, 30, func(t float64) float64 { return 100 + 30*rng.NormFloat64() })
	r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
	r.add(input.Flight, 200, func(t float64) float64 {
		return 100 + 9000*math.Sin(t/2)*math.Sin(t/17) + (30+30*math.Sin(t/30))*rng.NormFloat64()
	})
	axis := measuredAxis("pitch")
	if change != nil {
		change(&axis)
	}
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(axis)}, opts)
	if err != nil {
		t.Fatal(err)
	}
	return &p.Axes[0], r.rec
}

func effectOf(t testing.TB, p *AxisProposal, rec *input.Recording, opts Options, r curves.Response) *Effect {
	t.Helper()
	e, err := NewEffects(p, rec, opts)
	if err != nil {
		t.Fatal(err)
	}
	out, err := e.Of(r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The effect of the proposed response is what the proposal and the replay say
// of it, number for number.
func TestEffectOfTheProposalIsTheProposals(t *testing.T) {
	for _, sides := range []string{SidesTogether, SidesApart} {
		opts := Defaults()
		opts.Sides = sides
		p, rec := effectFixture(t, nil, opts)
		r := p.Profile.Response
		got := effectOf(t, p, rec, opts, r)
		gain, steepest := p.chosen().Gain, p.chosen().MaxSlope
		if sides == SidesApart {
			low, high := chosenOf(p.Sides[0].Fits, p.Chosen), chosenOf(p.Sides[1].Fits, p.Chosen)
			gain, steepest = (low.Gain+high.Gain)/2, math.Max(low.MaxSlope, high.MaxSlope)
		}
		// Sides apart have limits of their own, so the bound differs a little.
		near(t, sides+": gain", got.Gain, gain, map[string]float64{SidesTogether: 1e-12, SidesApart: 0.01}[sides])
		near(t, sides+": largest slope", got.MaxSlope, steepest, map[string]float64{SidesTogether: 1e-12, SidesApart: 0.01}[sides])
		if !slices.Equal(got.Jitter, p.Jitter) {
			t.Errorf("%s: jitter %v, the proposal has %v", sides, got.Jitter, p.Jitter)
		}
		if got.ResolutionAfter != p.ResolutionAfter || got.LevelsAfter != p.LevelsAfter {
			t.Errorf("%s: resolution %g, %g; the proposal has %g, %g", sides, got.ResolutionAfter, got.LevelsAfter, p.ResolutionAfter, p.LevelsAfter)
		}
		replayed, err := Replay(rec, &curves.Profile{Axes: []curves.ProfileAxis{p.Profile}}, Smoothing{})
		if err != nil {
			t.Fatal(err)
		}
		want := replayed.Axes[0]
		if got.FalseMotions != want.FalseMotions || got.RestMinutes != want.RestMinutes {
			t.Errorf("%s: %d false motions in %g minutes, the replay has %d in %g", sides, got.FalseMotions, got.RestMinutes, want.FalseMotions, want.RestMinutes)
		}
		if got.Flight == nil || got.Flight.From != want.Worst.From || got.Flight.Rows != want.Worst.Rows {
			t.Fatalf("%s: the worst ten seconds are not the replay's", sides)
		}
		// The replay slides its sums along, which leaves rounding errors.
		near(t, sides+": worst ten seconds before", got.Flight.JitterRMS.Before, want.Worst.JitterRMS.Before, 1e-9)
		near(t, sides+": worst ten seconds after", got.Flight.JitterRMS.After, want.Worst.JitterRMS.After, 1e-9)
		if !slices.Equal(got.Flight.NoiseAfter, want.Worst.NoiseAfter) {
			t.Errorf("%s: another noise after than the replay's", sides)
		}
		at := slices.Index(want.Seconds, want.Worst.From)
		if n := len(got.Flight.Seconds); n != want.Worst.Rows ||
			!slices.Equal(got.Flight.Seconds, want.Seconds[at:at+n]) ||
			!slices.Equal(got.Flight.Before, want.Before[at:at+n]) || !slices.Equal(got.Flight.After, want.After[at:at+n]) {
			t.Errorf("%s: another flight than the replay's", sides)
		}
	}
}

// The rate of false motions is the inverse of the deadband's rule: at the
// proposed half-widths it is the rate that was accepted.
func TestEffectKeepsTheAcceptedFalseMotions(t *testing.T) {
	for _, accepted := range []float64{0.01, 0.1, 5} {
		opts := Defaults()
		opts.FalseMotions = accepted
		p, rec := effectFixture(t, nil, opts)
		e, err := NewEffects(p, rec, opts)
		if err != nil {
			t.Fatal(err)
		}
		r := p.Profile.Response
		out, err := e.Of(r)
		if err != nil {
			t.Fatal(err)
		}
		// Half-widths are rounded up to a hundredth of a percent, 3 counts of
		// 30 counts of noise, so the rate is a little less.
		if rate := *out.FalseMotionsPerMinute; !(rate <= accepted && rate > 0.55*accepted) {
			t.Errorf("%g false motions a minute at the deadband for %g", rate, accepted)
		}
		// The sides count by half each.
		one := r
		one.Deadband.Low += 0.05
		if out, err = e.Of(one); err != nil {
			t.Fatal(err)
		}
		if rate := *out.FalseMotionsPerMinute; !(rate <= accepted/2 && rate > 0.55*accepted/2) {
			t.Errorf("%g false motions a minute with one wide side for %g", rate, accepted)
		}
		// The narrower, the more, down to no deadband at all.
		last := 0.0
		for d := 0.02; d >= 0; d -= 0.0005 {
			narrow := r
			narrow.Deadband = curves.Sides{Low: d, High: d}
			if out, err = e.Of(narrow); err != nil {
				t.Fatal(err)
			}
			if rate := *out.FalseMotionsPerMinute; rate < last || math.IsNaN(rate) {
				t.Fatalf("%g false motions a minute at %g, %g at a wider one", rate, d, last)
			} else {
				last = rate
			}
		}
	}
}

// A one-sided axis leaves its deadband upwards only.
func TestEffectOfOneSided(t *testing.T) {
	opts := Defaults()
	r := newRecorded(125, input.OneSided, "brake")
	r.add(input.Rest, 20, func(t float64) float64 { return -32000 })
	r.add(input.Sweep, 20, func(t float64) float64 { return 32000 * math.Sin(t-math.Pi/2) })
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(leverAxis("brake"))}, opts)
	if err != nil {
		t.Fatal(err)
	}
	got := effectOf(t, &p.Axes[0], r.rec, opts, p.Axes[0].Profile.Response)
	// Rounded up by as much as 6 counts of 30 of noise.
	if rate := *got.FalseMotionsPerMinute; !(rate <= 0.1 && rate > 0.03) {
		t.Errorf("%g false motions a minute, accepted were 0.1", rate)
	}
	near(t, "gain", got.Gain, p.Axes[0].chosen().Gain, 1e-12)
	if got.Flight == nil || got.Flight.Moving == "flight" {
		t.Errorf("flight %+v though only a sweep was recorded", got.Flight)
	}
}

// What cannot be compared is refused, and what was not measured is left out.
func TestEffectRefuses(t *testing.T) {
	opts := Defaults()
	p, rec := effectFixture(t, func(a *measure.Axis) { a.Rest.Sigma = nil }, opts)
	e, err := NewEffects(p, rec, opts)
	if err != nil {
		t.Fatal(err)
	}
	r := p.Profile.Response
	if got, err := e.Of(r); err != nil || got.FalseMotionsPerMinute != nil || got.Jitter != nil {
		t.Errorf("without rest noise: %+v, %v", got, err)
	}
	other := r
	other.Calibration.High--
	if _, err := e.Of(other); err == nil {
		t.Error("another calibration was taken")
	}
	broken := r
	broken.Deadband.Low = 2
	if _, err := e.Of(broken); err == nil {
		t.Error("a broken response was taken")
	}
	elsewhere := *p
	elsewhere.Profile.Label = "roll"
	if _, err := NewEffects(&elsewhere, rec, opts); err == nil {
		t.Error("an axis that was not recorded was taken")
	}
}

func BenchmarkEffect(b *testing.B) {
	opts := Defaults()
	p, rec := effectFixture(b, nil, opts)
	e, err := NewEffects(p, rec, opts)
	if err != nil {
		b.Fatal(err)
	}
	r := p.Profile.Response
	for b.Loop() {
		if _, err := e.Of(r); err != nil {
			b.Fatal(err)
		}
	}
}
