package propose

import (
	"math"
	"testing"

	"halfstick/curves"
)

func TestFrontierOfAnAxis(t *testing.T) {
	opts := Defaults()
	a := proposalOf(t, opts, measuredAxis("pitch")).Axes[0]
	f := a.Frontier(opts)
	if f.Label != "pitch" || len(f.Families) != 4 || f.LargestSlope != 3 {
		t.Fatalf("%+v", f)
	}
	bound := f.Families[3].Points
	least := func(slope float64) float64 { // of the bound, by straight lines
		for i := 1; i < len(bound); i++ {
			if slope <= bound[i].MaxSlope {
				a, b := bound[i-1], bound[i]
				return a.Jitter + (slope-a.MaxSlope)*(b.Jitter-a.Jitter)/(b.MaxSlope-a.MaxSlope)
			}
		}
		return bound[len(bound)-1].Jitter
	}
	for _, family := range f.Families {
		first := family.Points[0]
		within(t, family.Family+" starts straight, slope", first.MaxSlope, a.Fits[0].MaxSlope-1e-6, a.Fits[0].MaxSlope*1.001)
		within(t, family.Family+" starts straight, jitter", first.Jitter, 0.995*a.Fits[0].Jitter, a.Fits[0].Jitter*1.0001)
		for i, q := range family.Points {
			// The bound is convex, so straight lines lie above it by a little.
			if q.Jitter < least(q.MaxSlope)*0.99 {
				t.Errorf("%s: %+v is below the bound %g", family.Family, q, least(q.MaxSlope))
			}
			if i > 0 && q.MaxSlope < family.Points[i-1].MaxSlope-1e-3 {
				t.Errorf("%s: slopes fall from %+v to %+v", family.Family, family.Points[i-1], q)
			}
			if i > 0 && family.Family == familyBound && q.Jitter > family.Points[i-1].Jitter+1e-9 {
				t.Errorf("more slope gave more jitter: %+v", q)
			}
		}
	}
	at := a.OnFrontier(a.Profile.Response, opts.MinSlope)
	near(t, "proposal's jitter", at.Jitter, a.chosen().Jitter, 1e-9)
	near(t, "proposal's largest slope", at.MaxSlope, a.chosen().MaxSlope, 1e-9)
	within(t, "the bound at the largest slope allowed", least(3), a.Fits[4].Jitter*0.999, a.Fits[4].Jitter*1.001)
}

// With different sides the mean square counts, and the steeper side.
func TestOnFrontierTakesBothSides(t *testing.T) {
	opts := Defaults()
	a := proposalOf(t, opts, measuredAxis("pitch")).Axes[0]
	at := func(low, high curves.Shape) FrontierPoint {
		r := curves.StraightThrough(curves.TwoSided)
		r.Low, r.High = low, high
		return a.OnFrontier(r, 0)
	}
	straight, cubic := at(curves.Straight{}, curves.Straight{}), at(curves.Blend{Share: 1}, curves.Blend{Share: 1})
	near(t, "straight", straight.Jitter, 1, 1e-3)
	near(t, "straight slope", straight.MaxSlope, 1, 1e-9)
	mixed := at(curves.Straight{}, curves.Blend{Share: 1})
	near(t, "mixed slope", mixed.MaxSlope, 3, 1e-9)
	near(t, "mixed", mixed.Jitter, math.Sqrt((straight.Jitter*straight.Jitter+cubic.Jitter*cubic.Jitter)/2), 1e-9)
	if !math.IsInf(at(curves.Power{Exponent: 0.5}, curves.Straight{}).MaxSlope, 1) {
		t.Error("the slope of an exponent below 1 has no limit")
	}
}

func TestFrontierOfALever(t *testing.T) {
	opts := Defaults()
	a := proposalOf(t, opts, leverAxis("lever")).Axes[0]
	for _, family := range a.Frontier(opts).Families {
		for _, q := range family.Points {
			if math.IsNaN(q.Jitter) || math.IsInf(q.MaxSlope, 0) {
				t.Errorf("%s: %+v", family.Family, q)
			}
		}
	}
	near(t, "straight", a.OnFrontier(a.Profile.Response, opts.MinSlope).Jitter, a.Fits[0].Jitter, 1e-9)
}
